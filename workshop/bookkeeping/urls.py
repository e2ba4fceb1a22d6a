from django.urls import path

from workshop.bookkeeping import views

app_name = "bookkeeping"
urlpatterns = [
    path("", views.batches, name="batches"),
    path("accounts/", views.map_accounts, name="map_accounts"),
    path("<int:no>/", views.batch, name="batch"),
    path("<int:no>/<str:name>", views.file, name="file"),
]
