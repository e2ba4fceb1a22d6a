"""Every room's pages. The mechanic's pages stand under /m/, pages by link under /q/."""

from allauth.account import views as door
from django.urls import include, path
from django.views.decorators.http import require_safe
from django.views.generic import RedirectView

# The owner makes accounts and sets passwords: what allauth would do by mail is closed.
closed = RedirectView.as_view(pattern_name="account_login")

urlpatterns = [
    path("accounts/password/reset/", require_safe(door.password_reset), name="account_reset_password"),
    *(path(f"accounts/{way}", closed) for way in ("email/", "confirm-email/", "password/set/", "login/code/confirm/")),
    path("accounts/", include("allauth.urls")),
    path("", include("workshop.pages.urls")),
    path("", include("workshop.today.urls")),
    path("photos/", include("workshop.photos.urls")),
    path("m/", include("workshop.driveway.urls")),
    path("m/", include("workshop.jobs.urls")),
    path("m/", include("workshop.inspections.urls")),
    path("m/", include("workshop.worksheets.urls")),
    path("", include("workshop.scheduling.urls")),
    path("", include("workshop.rounds.urls")),
    path("", include("workshop.quotes.urls")),
    path("", include("workshop.invoices.urls")),
    path("letters/", include("workshop.letters.urls")),
    path("books/", include("workshop.bookkeeping.urls")),
    path("catalogue/", include("workshop.catalogue.urls")),
    path("company/", include("workshop.company.urls")),
    path("vehicles/", include("workshop.vehicles.urls")),
    path("", include("workshop.book.urls")),
]

handler400 = "workshop.pages.errors.bad_request"
handler403 = "workshop.pages.errors.forbidden"
handler404 = "workshop.pages.errors.not_found"
handler500 = "workshop.pages.errors.fault"
