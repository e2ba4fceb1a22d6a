"""Addresses of pictures."""

from django.urls import path

from workshop.photos import views

app_name = "photos"
urlpatterns = [
    path("<uuid:uid>/<slug:size>/", views.picture, name="picture"),
]
