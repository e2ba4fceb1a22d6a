from django.db import migrations, models

from workshop.history.triggers import append_only

KEPT = ["id", "uid", "version_id", "by", "standing", "channel", "set_before", "set_after", "total_after_gross"]
ALSO = ["request_uid", "at", "device_at", "address", "browser", "dialled", "paper_id"]


def drop_old(_apps, editor):
    """SQLite rebuilt the table and lost its triggers; PostgreSQL still has them, without the new column."""
    where = " ON quotes_goahead" if editor.connection.vendor == "postgresql" else ""
    for name in ("delete", "update", *(["truncate"] if where else [])):
        editor.execute(f"DROP TRIGGER IF EXISTS quotes_goahead_no_{name}{where}")


class Migration(migrations.Migration):
    """The number that was dialled is part of the proof of a phoned go-ahead, and nothing of the proof changes."""

    dependencies = [("quotes", "0002_append_only")]
    operations = [
        migrations.AddField("goahead", "dialled", models.CharField(blank=True, default="", max_length=30)),
        migrations.RunPython(drop_old, migrations.RunPython.noop),
        append_only("quotes_goahead", [*KEPT, *ALSO]),
    ]
