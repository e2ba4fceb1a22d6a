from django.db import migrations

from workshop.history.triggers import append_only


class Migration(migrations.Migration):
    """A text of the business is what a go-ahead was given under: it is followed by the next, never changed."""

    dependencies = [("company", "0002_call_out_paper_foot_first_number"), ("history", "0002_append_only")]
    operations = [append_only("company_wording", ["id", "kind", "no", "text", "from_at"])]
