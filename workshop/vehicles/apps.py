from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    name = "workshop.vehicles"
