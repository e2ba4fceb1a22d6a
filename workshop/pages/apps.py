from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "workshop.pages"
    label = "pages"

    def ready(self) -> None:
        from workshop.pages import forms

        forms.speak()
