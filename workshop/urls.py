"""Every room's pages. The mechanic's pages stand under /m/, pages by link under /q/."""

from django.urls import include, path

urlpatterns = [
    path("accounts/", include("allauth.urls")),
    path("", include("workshop.pages.urls")),
    path("", include("workshop.today.urls")),
    path("photos/", include("workshop.photos.urls")),
    path("m/", include("workshop.driveway.urls")),
    path("m/", include("workshop.jobs.urls")),
    path("m/", include("workshop.inspections.urls")),
    path("m/", include("workshop.worksheets.urls")),
    path("", include("workshop.quotes.urls")),
    path("invoices/", include("workshop.invoices.urls")),
    path("books/", include("workshop.bookkeeping.urls")),
]

handler400 = "workshop.pages.errors.bad_request"
handler403 = "workshop.pages.errors.forbidden"
handler404 = "workshop.pages.errors.not_found"
handler500 = "workshop.pages.errors.fault"
