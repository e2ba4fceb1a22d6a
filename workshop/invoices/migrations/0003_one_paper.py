from django.db import migrations

from workshop.history.triggers import filled_once


class Migration(migrations.Migration):
    """The paper is rendered after the number is given: its column is filled once and points nowhere else after that."""

    dependencies = [("invoices", "0002_append_only")]
    operations = [filled_once("invoices_document", "pdf_id")]
