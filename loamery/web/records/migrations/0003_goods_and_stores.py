"""What can be bought, what lies in store, and how buckets and hours count; as Django wrote it down."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0002_history_stays"),
    ]

    operations = [
        migrations.AddField(
            model_name="garden",
            name="hour_worth",
            field=models.FloatField(blank=True, null=True, verbose_name="worth of an hour of work"),
        ),
        migrations.AddField(
            model_name="garden",
            name="whole_buckets",
            field=models.JSONField(blank=True, default=list, verbose_name="uses planned in whole buckets"),
        ),
        migrations.CreateModel(
            name="Good",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("sack_kg", models.FloatField(verbose_name="weight of a sack, kg")),
                ("price", models.FloatField(verbose_name="price of a sack")),
                ("most", models.PositiveSmallIntegerField(default=20, verbose_name="most sacks in a season")),
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
                (
                    "material",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.material"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "every",
                "constraints": [models.UniqueConstraint(fields=("garden", "sent_as"), name="good_sent_once")],
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Store",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("kg", models.FloatField(verbose_name="weight, kg")),
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
                (
                    "material",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.material"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "every",
                "constraints": [models.UniqueConstraint(fields=("garden", "sent_as"), name="store_sent_once")],
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
    ]
