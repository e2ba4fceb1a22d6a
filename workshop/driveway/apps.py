from django.apps import AppConfig


class DrivewayConfig(AppConfig):
    name = "workshop.driveway"
