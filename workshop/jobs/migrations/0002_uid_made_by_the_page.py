import uuid

from django.db import migrations, models


def give_uids(apps, editor):
    """Rows from before get a uid each: one default for all would not be unique."""
    step = apps.get_model("jobs", "CardStep")
    for pk in step.objects.values_list("pk", flat=True):
        step.objects.filter(pk=pk).update(uid=uuid.uuid4())


class Migration(migrations.Migration):
    dependencies = [("jobs", "0001_initial")]

    operations = [
        migrations.AddField("cardstep", "uid", models.UUIDField(default=uuid.uuid4, editable=False, null=True)),
        migrations.RunPython(give_uids, migrations.RunPython.noop, elidable=True),
        migrations.AlterField("cardstep", "uid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
    ]
