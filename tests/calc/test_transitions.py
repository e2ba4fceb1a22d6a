"""What may become what, and what is told to the person whose change is refused."""

from itertools import product

import pytest

from workshop.calc import transitions
from workshop.calc.transitions import MACHINES, Refused

EVERY_CHANGE = [(machine, a, b) for machine, states in MACHINES.items() for a, b in product(states, states)]


def test_nothing_leaves_a_closed_state() -> None:
    for machine, a, b in EVERY_CHANGE:
        if a in transitions.closed(machine):
            assert not transitions.allowed(machine, a, b)


def test_the_closed_states_are_these() -> None:
    assert {machine: set(transitions.closed(machine)) for machine in MACHINES} == {
        "card": {"closed", "cancelled"},
        "answer": {"withdrawn"},
        "progress": {"checked"},
        "version": {"answered", "replaced", "expired", "revoked"},
        "document": {"credited", "written_off"},
    }


def test_every_state_can_be_reached_and_every_open_state_can_end() -> None:
    for machine, states in MACHINES.items():
        first = next(iter(states))
        reached, waiting = {first}, [first]
        while waiting:
            for state in transitions.following(machine, waiting.pop()):
                if state not in reached:
                    reached.add(state)
                    waiting.append(state)
        assert reached == set(states)
        assert transitions.closed(machine)


def test_require_and_allowed_say_the_same() -> None:
    for machine, a, b in EVERY_CHANGE:
        if transitions.allowed(machine, a, b):
            transitions.require(machine, a, b)
        else:
            with pytest.raises(Refused):
                transitions.require(machine, a, b)


@pytest.mark.parametrize(
    ("machine", "a", "b", "sentence"),
    [
        ("card", "closed", "open", "The card is closed and cannot become open. Nothing changes it any more."),
        ("card", "open", "closed", "The card is open and cannot become closed. It can become ready or cancelled."),
        ("card", "ready", "ready", "The card is ready already."),
        ("answer", "accepted", "not_now", "The line is accepted and cannot become not now. It can become withdrawn."),
        ("version", "answered", "replaced", "The quote is answered and cannot become replaced. Nothing changes it any more."),
    ],
)
def test_a_refusal_is_a_sentence(machine: str, a: str, b: str, sentence: str) -> None:
    with pytest.raises(Refused) as refusal:
        transitions.require(machine, a, b)
    assert refusal.value.sentence == str(refusal.value) == sentence


def test_unknown_machines_and_states_are_mistakes_in_the_code() -> None:
    with pytest.raises(ValueError, match="no machine 'cart'"):
        transitions.allowed("cart", "open", "ready")
    with pytest.raises(ValueError, match="no machine 'cart'"):
        transitions.closed("cart")
    with pytest.raises(ValueError, match="no state 'opne'"):
        transitions.require("card", "opne", "ready")
    with pytest.raises(ValueError, match="no state 'raedy'"):
        transitions.require("card", "open", "raedy")
