from django.db import migrations

from workshop.history.triggers import append_only


class Migration(migrations.Migration):
    """Only a version's state may move on; everything that was shown or answered stays as it was."""

    dependencies = [("quotes", "0001_initial"), ("history", "0002_append_only")]
    operations = [
        append_only(
            "quotes_version",
            [
                "id",
                "uid",
                "card_id",
                "no",
                "payer_id",
                "replaces_id",
                "after_id",
                "basis",
                "body",
                "sha256",
                "total_gross",
                "sent_at",
                "expires_at",
            ],
        ),
        append_only("quotes_versionline", ["id", "version_id", "line_id", "standing"]),
        append_only(
            "quotes_goahead",
            [
                "id",
                "uid",
                "version_id",
                "by",
                "standing",
                "channel",
                "set_before",
                "set_after",
                "total_after_gross",
                "request_uid",
                "at",
                "address",
            ],
        ),
        append_only("quotes_answer", ["id", "go_ahead_id", "version_line_id", "answer", "risk_ack"]),
    ]
