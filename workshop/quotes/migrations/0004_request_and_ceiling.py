from django.db import migrations, models

from workshop.history.triggers import append_only, dropped

SENT = ["id", "uid", "card_id", "no", "payer_id", "replaces_id", "after_id", "basis", "body", "sha256", "total_gross", "request_uid"]
ANSWERED = ["id", "uid", "version_id", "by", "standing", "channel", "set_before", "set_after", "total_after_gross", "ceiling_gross"]
ALSO = ["request_uid", "at", "device_at", "address", "browser", "dialled", "paper_id"]


class Migration(migrations.Migration):
    """A version knows the request that sent it, so that a double tap sends one; a ceiling that was agreed does not change."""

    dependencies = [("quotes", "0003_dialled")]
    operations = [
        migrations.AddField("version", "request_uid", models.UUIDField(null=True, unique=True)),
        dropped("quotes_version"),
        append_only("quotes_version", [*SENT, "sent_at", "expires_at"]),
        dropped("quotes_goahead"),
        append_only("quotes_goahead", [*ANSWERED, *ALSO]),
    ]
