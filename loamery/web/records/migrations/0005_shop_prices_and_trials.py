"""Shop prices and trials as records; as Django wrote it down."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0004_lab_prices"),
    ]

    operations = [
        migrations.CreateModel(
            name="Trial",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("question", models.TextField(blank=True, default="", verbose_name="what it is to find out")),
                ("design", models.TextField(default="complete_blocks", verbose_name="how plots were drawn")),
                ("seed", models.BigIntegerField(verbose_name="seed of the lots")),
                ("control", models.TextField(blank=True, default="", verbose_name="compared with")),
                ("starts", models.DateField(verbose_name="first day")),
                ("ends", models.DateField(verbose_name="last day")),
                ("measured", models.TextField(default="yield", verbose_name="what is read")),
                ("unit", models.TextField(default="kg", verbose_name="unit")),
                ("per_m2", models.BooleanField(default=True, verbose_name="for each square metre")),
                ("several", models.TextField(default="sum", verbose_name="several readings of a plot")),
                ("invented", models.BooleanField(default=False, verbose_name="made-up data")),
                ("treatments", models.JSONField(default=list, verbose_name="treatments")),
                ("beds", models.JSONField(blank=True, default=list, verbose_name="beds")),
                ("plots", models.JSONField(blank=True, default=list, verbose_name="plots")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="TrialReading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("plot", models.TextField(verbose_name="plot")),
                ("treatment", models.TextField(blank=True, default="", verbose_name="treatment")),
                ("measured_on", models.DateField(blank=True, null=True, verbose_name="day")),
                ("value", models.FloatField(blank=True, null=True, verbose_name="value")),
                ("lost", models.TextField(blank=True, default="", verbose_name="why there is no reading")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
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
                    "trial",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.trial"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "base_manager_name": "every",
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Fertiliser",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("n_percent", models.FloatField(default=0.0, verbose_name="N on the label, %")),
                ("p2o5_percent", models.FloatField(default=0.0, verbose_name="P2O5 on the label, %")),
                ("k2o_percent", models.FloatField(default=0.0, verbose_name="K2O on the label, %")),
                ("price_per_kg", models.FloatField(verbose_name="price per kg")),
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
                "constraints": [
                    models.UniqueConstraint(fields=("garden", "sent_as"), name="fertiliser_sent_once"),
                    models.UniqueConstraint(
                        condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="fertiliser_key_once"
                    ),
                ],
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.AddConstraint(
            model_name="trial",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="trial_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="trial",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="trial_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="trialreading",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="trialreading_sent_once"),
        ),
    ]
