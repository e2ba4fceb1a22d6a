"""The people who sign in."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class User(AbstractUser):
    """A person of the business. The role decides which pages and buttons work."""

    class Role(models.TextChoices):
        OWNER = "owner", "owner"
        MECHANIC = "mechanic", "mechanic"
        OFFICE = "office", "office"
        BOOKKEEPER = "bookkeeper", "bookkeeper"

    role = models.CharField(max_length=12, choices=Role, default=Role.MECHANIC)

    def __str__(self) -> str:
        return self.get_full_name() or self.username
