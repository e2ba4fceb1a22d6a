from django.apps import AppConfig


class InvoicesConfig(AppConfig):
    name = "workshop.invoices"
