import json
from typing import Any

from django.core.management.base import BaseCommand

from workshop.upkeep import bench


class Command(BaseCommand):
    help = "Prints counts, bytes and ratios as JSON, measured on a database of its own."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(json.dumps(bench.run(), indent=1))
