from django.apps import AppConfig


class LinksConfig(AppConfig):
    name = "workshop.links"
