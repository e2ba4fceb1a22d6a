"""Addresses of pictures."""

from django.urls import path

from workshop.photos import views

app_name = "photos"
urlpatterns = [
    path("clip/<uuid:uid>/", views.clip, name="clip"),
    path("<uuid:uid>/<slug:size>/", views.picture, name="picture"),
]
