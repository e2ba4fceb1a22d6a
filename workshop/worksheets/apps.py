from django.apps import AppConfig


class WorksheetsConfig(AppConfig):
    name = "workshop.worksheets"
