"""In which order a vehicle is opened and closed again: a step goes open when all before it are open, closed when nothing behind it is."""

from collections.abc import Collection, Iterable

from workshop.calc.labour import Step, needed_steps


def order_of_opening(steps: Iterable[Step], key: str) -> tuple[str, ...]:
    """The step and all that must be open before it, in an order in which they can be opened; the step itself comes last.

    ValueError, by name, for an unknown step, a need that is not there, duplicates and a circle. The house's own rule."""
    steps = tuple(steps)
    needed_steps((), steps, ())  # refuses circles, duplicates and strays
    access = {step.key: step for step in steps}
    if key not in access:
        raise ValueError(f"There is no step {key}.")
    found: list[str] = []
    waiting = [(key, False)]
    while waiting:
        name, seen = waiting.pop()
        if seen and name not in found:
            found.append(name)
        elif name not in found:
            waiting.append((name, True))
            waiting.extend((need, False) for need in reversed(access[name].needs))
    return tuple(found)


def closed_before(steps: Iterable[Step], opened: Collection[str], key: str) -> tuple[str, ...]:
    """What must be opened before this step can be, in the order to open it; empty when it can be opened now. Errors as order_of_opening."""
    return tuple(name for name in order_of_opening(steps, key)[:-1] if name not in opened)


def open_behind(steps: Iterable[Step], opened: Collection[str], key: str) -> tuple[str, ...]:
    """What must be closed before this step can be: open steps that were reached through it, as given. Empty when it can be closed now.

    Errors as order_of_opening."""
    steps = tuple(steps)
    return tuple(step.key for step in steps if step.key != key and step.key in opened and key in order_of_opening(steps, step.key))
