"""What the garden's laboratory asks for a test; as Django wrote it down."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0003_goods_and_stores"),
    ]

    operations = [
        migrations.CreateModel(
            name="LabPrice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("test", models.CharField(max_length=60, verbose_name="test")),
                ("price", models.FloatField(verbose_name="price of a sample")),
                ("note", models.TextField(blank=True, verbose_name="note")),
                (
                    "garden",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="records.garden",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "every",
                "constraints": [models.UniqueConstraint(fields=("garden", "sent_as"), name="labprice_sent_once")],
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
    ]
