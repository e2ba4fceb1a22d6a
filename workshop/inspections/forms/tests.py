"""What is typed about a test."""

from typing import Any

from workshop.inspections.actions import missing_in_test
from workshop.inspections.forms.common import Measured
from workshop.inspections.forms.findings import Placed
from workshop.inspections.models import Finding, Test
from workshop.pages.boxes import Words, one_of
from workshop.photos.models import Photo


class TestForm(Placed):
    """One test. Pictures come beside it."""

    __test__ = False  # not one of pytest's
    field_order = ("tested", "state", "tool", "place", "other_place")  # as on the sheet, so that what is refused is told in that order

    tested = Words("What was tested", 80, empty="Nothing written. Say what was tested: charging voltage at idle.")
    tool = Words("With", 120, hint="The tool, and its number if it has one.")
    state = one_of("Cold or hot", Test.State.choices, "Choose one: cold, hot, either.")
    read = Measured("Read")
    unit = Words("Unit", 12, hint="V, bar, kPa, mm")
    read_words = Words("Or in words", 120)
    expected = Words("Expected", 120, hint="As its source says it: 13.8 to 14.6 V.")
    expected_source = Words("Where that stands", 160, hint="Title, edition, page.")
    verdict = one_of("Verdict", Test.Verdict.choices, "Choose one: as expected, not as expected, unclear.")
    rules_out = Words("Rules out", 200)
    condition = one_of("Condition", Finding.Condition.choices, "Choose one by its shape.")

    def clean(self) -> dict[str, Any]:
        """A unit with a number, something to compare with for a verdict, a source with a figure."""
        typed = super().clean()
        if not {"read", "unit", "read_words", "expected", "expected_source", "verdict"} & set(self.errors):
            said = {name: typed[name] for name in ("unit", "read_words", "expected")}
            for name, sentence in missing_in_test(typed["read"], typed["verdict"], source=typed["expected_source"], **said).items():
                self.add_error(name, sentence)
        return typed

    def test(self, photos: list[Photo]) -> dict[str, Any]:
        """The keywords of add_test. Call it on a good form only."""
        return {**{name: value for name, value in self.cleaned_data.items() if name != "other_place"}, "photos": photos}
