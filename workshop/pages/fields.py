"""Money in the database: whole coins, so that a sum made there is exact on both databases."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

COIN = Decimal("0.01")

if TYPE_CHECKING:
    from django.db.models.expressions import Combinable

    class WholeCoins[Put, Got](models.BigIntegerField[Put, Got]):
        """What may be put in and what comes out, in the words of the type checker's Django plugin."""

        _pyi_private_set_type: Decimal | int | Combinable  # type: ignore[assignment]
        _pyi_private_get_type: Decimal  # type: ignore[assignment]
else:

    class WholeCoins[Put, Got](models.BigIntegerField):
        """At run time a plain integer field."""


class MoneyField[Put, Got](WholeCoins[Put, Got]):
    """A Decimal with two places in Python, an integer number of coins in the table. A float or a third place is refused.

    Sum() gives Decimal; a sum or difference of two columns made by the database needs ExpressionWrapper(..., output_field=MoneyField()).
    """

    description = "an amount of money"

    def to_python(self, value: Any) -> Decimal | None:
        if value is None or isinstance(value, Decimal):
            return value
        if isinstance(value, float):
            raise ValidationError("Money is never a float.")
        return Decimal(value)

    def from_db_value(self, value: int | None, expression: Any, connection: BaseDatabaseWrapper) -> Decimal | None:
        return None if value is None else Decimal(value).scaleb(-2)

    def get_prep_value(self, value: Any) -> int | None:
        amount = self.to_python(value)
        if amount is None:
            return None
        if amount != amount.quantize(COIN):
            raise ValueError(f"{amount} has more than two places: round it before it is kept.")
        return int(amount.scaleb(2))

    def value_to_string(self, obj: models.Model) -> str:
        return str(self.value_from_object(obj))

    def formfield(self, **kwargs: Any) -> Any:
        from django import forms

        return forms.DecimalField(
            **{"max_digits": 12, "decimal_places": 2, "required": not self.blank, "label": self.verbose_name, **kwargs}
        )
