from django.apps import AppConfig


class UpkeepConfig(AppConfig):
    name = "workshop.upkeep"

    def ready(self) -> None:
        from workshop.upkeep import checks  # noqa: F401  registers the checks
