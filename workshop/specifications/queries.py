"""Find values with their sources."""

from django.db.models import QuerySet

from workshop.specifications.models import Value

MAKERS = frozenset({"K1", "K2"})  # the vehicle's maker, the maker of the fitted part: the only kinds a critical joint is worked to


def values_of(component: str) -> QuerySet[Value]:
    """Every value on file for a component that no newer one has replaced, strongest source first."""
    on_file = Value.objects.filter(component__iexact=component.strip(), superseded_by=None)
    return on_file.select_related("source").order_by("source__kind", "pk")
