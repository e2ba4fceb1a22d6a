from django.apps import AppConfig


class BookkeepingConfig(AppConfig):
    name = "workshop.bookkeeping"
