from django.apps import AppConfig


class SpecificationsConfig(AppConfig):
    name = "workshop.specifications"
