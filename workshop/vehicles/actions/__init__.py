"""The verbs of vehicles: `keep` what is written of one and what its meters showed, `take_in` many with their owners from a file."""

from workshop.vehicles.actions.keep import (
    CHANGED,
    MISREAD,
    NO_PHOTO,
    REASONS,
    change_vehicle,
    explain_reading,
    read_meter,
    write_merged_vehicle,
    write_owner_moved,
    write_reading,
    write_vehicle,
)
from workshop.vehicles.actions.take_in import TakenIn, take_in

EVENTS = {
    "vehicles.read": "read {value} {unit} on the meter{held}",
    "vehicles.reading_explained": "said why {value} {unit} is lower than before: {reason}",
    "vehicles.changed": "changed what is written of the vehicle: {changed}",
    "vehicles.taken_in": "took {customers} customers and {vehicles} vehicles in from the file {file}",
}

__all__ = [
    "CHANGED",
    "EVENTS",
    "MISREAD",
    "NO_PHOTO",
    "REASONS",
    "TakenIn",
    "change_vehicle",
    "explain_reading",
    "read_meter",
    "take_in",
    "write_merged_vehicle",
    "write_owner_moved",
    "write_reading",
    "write_vehicle",
]
