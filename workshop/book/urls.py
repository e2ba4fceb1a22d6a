"""Pages of vehicle books, of the search box, and of what is put right."""

from django.urls import URLPattern

app_name = "book"
urlpatterns: list[URLPattern] = []
