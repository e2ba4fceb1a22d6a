import uuid

from django.db import migrations, models


def give_uids(apps, editor):
    """Rows from before get a uid each: one default for all would not be unique."""
    joint = apps.get_model("worksheets", "Joint")
    for pk in joint.objects.values_list("pk", flat=True):
        joint.objects.filter(pk=pk).update(uid=uuid.uuid4())


class Migration(migrations.Migration):
    dependencies = [("worksheets", "0001_initial")]

    operations = [
        migrations.AddField("joint", "uid", models.UUIDField(default=uuid.uuid4, editable=False, null=True)),
        migrations.RunPython(give_uids, migrations.RunPython.noop, elidable=True),
        migrations.AlterField("joint", "uid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
    ]
