from django.db import migrations

from workshop.history.triggers import append_only


class Migration(migrations.Migration):
    dependencies = [("ledger", "0001_initial"), ("history", "0002_append_only")]
    operations = [
        append_only(
            "ledger_entry",
            ["id", "uid", "source_uid", "source_kind", "reference", "dated_on", "tax_point_on", "entered_at", "words", "reverses_id"],
        ),
        append_only(
            "ledger_posting", ["id", "entry_id", "position", "role", "line_kind", "tax_code", "customer_kind", "party_uid", "amount"]
        ),
    ]
