"""Tables as Django wrote them down."""

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies: list[tuple[str, str]] = []

    operations = [
        migrations.CreateModel(
            name="Person",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                ("email", models.EmailField(max_length=254, unique=True, verbose_name="mail address")),
                ("name", models.CharField(blank=True, max_length=80, verbose_name="name")),
                ("is_active", models.BooleanField(default=True)),
                (
                    "units",
                    models.CharField(
                        blank=True,
                        choices=[("metric", "metric"), ("us", "US customary")],
                        max_length=6,
                        verbose_name="units",
                    ),
                ),
                ("language", models.CharField(blank=True, max_length=5, verbose_name="language")),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Audit",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField(db_index=True, default=django.utils.timezone.now, editable=False)),
                ("what", models.CharField(max_length=40)),
                ("about", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("email", models.EmailField(max_length=254, verbose_name="mail address")),
                (
                    "role",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "reader: sees everything"),
                            (2, "logger: writes down what was done"),
                            (3, "grower: changes beds, materials and plans"),
                            (4, "owner: people, settings, and everything else"),
                        ],
                        default=2,
                        verbose_name="role",
                    ),
                ),
                ("digest", models.CharField(editable=False, max_length=64, unique=True)),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("used_at", models.DateTimeField(editable=False, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="Membership",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "role",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "reader: sees everything"),
                            (2, "logger: writes down what was done"),
                            (3, "grower: changes beds, materials and plans"),
                            (4, "owner: people, settings, and everything else"),
                        ],
                        verbose_name="role",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Token",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, verbose_name="what it is for")),
                (
                    "role",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "reader: sees everything"),
                            (2, "logger: writes down what was done"),
                            (3, "grower: changes beds, materials and plans"),
                            (4, "owner: people, settings, and everything else"),
                        ],
                        default=1,
                        verbose_name="may do",
                    ),
                ),
                ("digest", models.CharField(editable=False, max_length=64, unique=True)),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("ended_at", models.DateTimeField(editable=False, null=True)),
            ],
        ),
    ]
