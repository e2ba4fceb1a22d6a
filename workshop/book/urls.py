"""Pages of vehicle books, of customers, of the search box, and of what is put right."""

from django.urls import path

from workshop.book import views

app_name = "book"
urlpatterns = [
    path("search/", views.search, name="search"),
    path("vehicles/<int:pk>/", views.vehicle, name="vehicle"),
    path("vehicles/<int:pk>/reading/", views.reading_new, name="reading_new"),
    path("vehicles/<int:pk>/details/", views.vehicle_details, name="vehicle_details"),
    path("vehicles/<int:pk>/merger/", views.vehicle_merger, name="vehicle_merger"),
    path("readings/<uuid:uid>/", views.reading, name="reading"),
    path("customers/<int:pk>/", views.party, name="party"),
    path("customers/<int:pk>/details/", views.party_details, name="party_details"),
    path("customers/<int:pk>/merger/", views.party_merger, name="party_merger"),
    path("m/card/<int:pk>/hand-over/", views.hand_over, name="hand_over"),
    path("m/card/<int:pk>/hand-over.pdf", views.hand_over_paper, name="hand_over_paper"),
    path("m/card/<int:pk>/hand-over/old-parts/", views.old_parts, name="old_parts"),
    path("cards/<int:pk>/corrections/", views.corrections, name="corrections"),
    path("cards/<int:pk>/cancellation/", views.cancellation, name="cancellation"),
    path("cards/<int:pk>/again/<uuid:uid>/", views.offer_again, name="offer_again"),
    path("lines/<uuid:uid>/strike/", views.strike, name="strike"),
    path("complaints/<uuid:uid>/", views.complaint, name="complaint"),
    path("findings/<uuid:uid>/move/", views.finding_move, name="finding_move"),
    path("shown-photos/<int:pk>/move/", views.photo_move, name="photo_move"),
]
