from django.db import migrations

from workshop.history.triggers import append_only


class Migration(migrations.Migration):
    """An issued document never changes; its paper is rendered after the number is given, so only that column may be filled."""

    dependencies = [("invoices", "0001_initial"), ("history", "0002_append_only")]
    operations = [
        append_only(
            "invoices_document",
            [
                "id",
                "uid",
                "request_uid",
                "kind",
                "number",
                "card_id",
                "payer_id",
                "corrects_id",
                "issued_on",
                "tax_point_on",
                "due_on",
                "issued_at",
                "basis",
                "net_amount",
                "tax_amount",
                "gross_amount",
                "body",
                "sha256",
            ],
        ),
        append_only(
            "invoices_docline",
            [
                "id",
                "document_id",
                "position",
                "words",
                "go_ahead_id",
                "line_id",
                "step_id",
                "line_kind",
                "minutes",
                "labour_amount",
                "parts_amount",
                "amount",
                "tax_code",
                "corrects_id",
            ],
        ),
        append_only("invoices_doctax", ["id", "document_id", "tax_code", "rate", "net_amount", "tax_amount"]),
        append_only(
            "invoices_payment",
            ["id", "uid", "request_uid", "party_id", "method", "amount", "fee_amount", "paid_on", "reference", "entered_at"],
        ),
        append_only("invoices_allocation", ["id", "payment_id", "document_id", "amount"]),
    ]
