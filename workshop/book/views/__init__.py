"""Pages: `books` of vehicles and customers and the search box, `mending` of a card."""

from workshop.book.views.books import (
    party,
    party_details,
    party_merger,
    reading,
    reading_new,
    search,
    vehicle,
    vehicle_details,
    vehicle_merger,
)
from workshop.book.views.mending import cancellation, complaint, corrections, finding_move, offer_again, photo_move, strike

__all__ = [
    "cancellation",
    "complaint",
    "corrections",
    "finding_move",
    "offer_again",
    "party",
    "party_details",
    "party_merger",
    "photo_move",
    "reading",
    "reading_new",
    "search",
    "strike",
    "vehicle",
    "vehicle_details",
    "vehicle_merger",
]
