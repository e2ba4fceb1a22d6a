"""Pages of the catalogue, under /catalogue/."""

from django.urls import path

from workshop.catalogue import views

app_name = "catalogue"
urlpatterns = [
    path("", views.operations, name="operations"),
    path("<uuid:uid>/", views.operation, name="operation"),
    path("<uuid:uid>/retire/", views.retire_operation, name="retire_operation"),
    path("kits/<uuid:uid>/", views.kit, name="kit"),
    path("kits/<uuid:uid>/retire/", views.retire_kit, name="retire_kit"),
]
