"""What may become what. Each machine is a table: from a state to the states that may follow; a closed state is followed by none."""

MACHINES: dict[str, dict[str, tuple[str, ...]]] = {
    "card": {
        "open": ("ready", "cancelled"),
        "ready": ("open", "closed"),
        "closed": (),
        "cancelled": (),
    },
    # What the customer says of a line. A go-ahead by phone comes without a version, so a draft can be accepted.
    "answer": {
        "draft": ("offered", "accepted", "withdrawn"),
        "offered": ("draft", "accepted", "not_now", "withdrawn", "expired"),
        "accepted": ("withdrawn",),
        "not_now": ("offered", "accepted", "withdrawn"),
        "expired": ("offered", "accepted", "withdrawn"),
        "withdrawn": (),
    },
    # What the mechanic does of a line. Found wrong before it was checked, it is started again; after that it is a new line.
    "progress": {
        "planned": ("started", "done"),
        "started": ("planned", "done"),
        "done": ("started", "checked"),
        "checked": (),
    },
    "version": {
        "open": ("answered", "replaced", "expired", "revoked"),
        "answered": (),
        "replaced": (),
        "expired": (),
        "revoked": (),
    },
    # Money can come back out: a payment that bounces or a refund opens what was paid.
    "document": {
        "issued": ("part_paid", "paid", "credited", "written_off"),
        "part_paid": ("issued", "paid", "credited", "written_off"),
        "paid": ("issued", "part_paid", "credited"),
        "credited": (),
        "written_off": (),
    },
}

_NOUNS = {"card": "card", "answer": "line", "progress": "line", "version": "quote", "document": "document"}
_WORDS = {"draft": "not offered", "not_now": "not now", "part_paid": "paid in part", "written_off": "written off"}


class Refused(Exception):
    """A change that is not allowed. `sentence` says why and what would be, for the person who asked."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def following(machine: str, state: str) -> tuple[str, ...]:
    """The states that may follow. Raises ValueError for an unknown machine or state."""
    if machine not in MACHINES:
        raise ValueError(f"There is no machine {machine!r}: {', '.join(MACHINES)}.")
    if state not in MACHINES[machine]:
        raise ValueError(f"A {machine} has no state {state!r}: {', '.join(MACHINES[machine])}.")
    return MACHINES[machine][state]


def closed(machine: str) -> frozenset[str]:
    """The states that nothing leaves. Raises ValueError for an unknown machine."""
    if machine not in MACHINES:
        raise ValueError(f"There is no machine {machine!r}: {', '.join(MACHINES)}.")
    return frozenset(state for state, next_states in MACHINES[machine].items() if not next_states)


def allowed(machine: str, from_state: str, to_state: str) -> bool:
    """Whether the change may be made; staying as it is is no change. Raises ValueError for an unknown machine or state."""
    following(machine, to_state)
    return to_state in following(machine, from_state)


def require(machine: str, from_state: str, to_state: str) -> None:
    """Nothing, if the change may be made. Raises Refused with a sentence if not, ValueError for an unknown machine or state."""
    if allowed(machine, from_state, to_state):
        return
    noun, now, wanted = _NOUNS[machine], _said(from_state), _said(to_state)
    if from_state == to_state:
        raise Refused(f"The {noun} is {now} already.")
    ways = " or ".join(_said(state) for state in following(machine, from_state))
    way_out = f" It can become {ways}." if ways else " Nothing changes it any more."
    raise Refused(f"The {noun} is {now} and cannot become {wanted}.{way_out}")


def _said(state: str) -> str:
    return _WORDS.get(state, state)
