from django.db import migrations

from workshop.history.triggers import append_only


class Migration(migrations.Migration):
    """A batch that was handed out never changes. The mapping may."""

    dependencies = [("bookkeeping", "0001_initial"), ("history", "0002_append_only")]
    operations = [
        append_only("bookkeeping_batch", ["id", "no", "from_on", "to_on", "made_at", "made_by", "sha256"]),
        append_only("bookkeeping_batchentry", ["id", "batch_id", "entry_id"]),
        append_only("bookkeeping_batchfile", ["id", "batch_id", "name", "blob_id"]),
    ]
