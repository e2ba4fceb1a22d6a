from django.db import migrations

from workshop.history.triggers import append_only


def first_head(apps, editor):
    apps.get_model("history", "Head").objects.create(pk=1, seq=0, hash="0" * 64)


class Migration(migrations.Migration):
    dependencies = [("history", "0001_initial")]
    operations = [
        migrations.RunPython(first_head, migrations.RunPython.noop),
        append_only(
            "history_event",
            ["seq", "at", "actor", "actor_name", "kind", "card_id", "vehicle_id", "salt", "payload_sha", "prev", "hash"],
            blankable="payload",
        ),
    ]
