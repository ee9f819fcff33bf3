"""Tables as Django wrote them down."""

import django.db.models.deletion
import django.db.models.manager
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Garden",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("slug", models.SlugField(max_length=60, unique=True)),
                ("name", models.TextField(verbose_name="name")),
                ("place", models.TextField(blank=True, verbose_name="place")),
                ("invented", models.BooleanField(default=False)),
                ("jurisdiction", models.TextField(verbose_name="rules that apply")),
                ("units", models.TextField(default="metric", verbose_name="units")),
                ("currency", models.TextField(blank=True, default="CAD", verbose_name="currency")),
                ("season_start", models.DateField(verbose_name="season starts")),
                ("season_weeks", models.PositiveSmallIntegerField(default=26, verbose_name="weeks planned")),
                ("seed", models.BigIntegerField(default=1)),
                ("draws", models.PositiveIntegerField(default=1000)),
                ("bucket_l", models.FloatField(default=20.0, verbose_name="size of a bucket, litres")),
                (
                    "hours_per_week",
                    models.FloatField(blank=True, null=True, verbose_name="hands available, hours per week"),
                ),
                ("climate", models.JSONField(default=dict)),
                (
                    "today_is",
                    models.DateField(
                        blank=True, help_text="pinned day of an invented garden; else the real day", null=True
                    ),
                ),
                ("is_public", models.BooleanField(default=False, verbose_name="evidence page open to everybody")),
                ("version", models.PositiveBigIntegerField(default=1, editable=False)),
                ("made_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="Donor",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("kind", models.TextField(blank=True, verbose_name="kind")),
                ("distance_km", models.FloatField(default=0.0, verbose_name="distance, km")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Change",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("who_said", models.CharField(blank=True, max_length=254)),
                (
                    "action",
                    models.CharField(
                        choices=[
                            ("add", "added"),
                            ("edit", "changed"),
                            ("remove", "removed"),
                            ("restore", "brought back"),
                            ("import", "taken in from a folder"),
                        ],
                        max_length=8,
                    ),
                ),
                ("kind", models.CharField(max_length=20)),
                ("row", models.BigIntegerField()),
                ("before", models.JSONField(null=True)),
                ("after", models.JSONField(null=True)),
                (
                    "undoes",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="undone_by",
                        to="records.change",
                    ),
                ),
                (
                    "who",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "garden",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="changes", to="records.garden"
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Bed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("area_m2", models.FloatField(verbose_name="area, m²")),
                ("depth_m", models.FloatField(default=0.15, verbose_name="depth worked, m")),
                ("texture", models.TextField(default="loam", verbose_name="texture")),
                ("bulk_density_kg_m3", models.FloatField(default=1200.0, verbose_name="bulk density, kg/m³")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Attachment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("path", models.CharField(max_length=200)),
                ("bytes", models.PositiveBigIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                ("at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "garden",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="attachments", to="records.garden"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Harvest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("crop", models.TextField(verbose_name="crop")),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("kg", models.FloatField(verbose_name="weight, kg")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "bed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.bed"),
                ),
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
            name="Heap",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("capacity_m3", models.FloatField(verbose_name="holds, m³")),
                ("kind", models.TextField(default="bin", verbose_name="kind")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Batch",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("built", models.DateField(verbose_name="built")),
                ("volume_m3", models.FloatField(blank=True, null=True, verbose_name="volume, m³")),
                ("water_kg", models.FloatField(default=0.0, verbose_name="water added, kg")),
                ("emptied", models.DateField(blank=True, null=True, verbose_name="emptied")),
                ("compost_kg", models.FloatField(blank=True, null=True, verbose_name="compost taken out, kg")),
                ("photo", models.TextField(blank=True, default="", verbose_name="photo")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
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
                    "heap",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.heap"),
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
            name="Material",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("kind", models.TextField(verbose_name="what it is")),
                ("uses", models.JSONField(blank=True, default=list, verbose_name="uses allowed")),
                ("storage_weeks", models.FloatField(blank=True, null=True, verbose_name="keeps, weeks")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Load",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("kg", models.FloatField(verbose_name="weight, kg")),
                ("price_per_kg", models.FloatField(default=0.0, verbose_name="price per kg")),
                ("photo", models.TextField(blank=True, default="", verbose_name="photo")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "donor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.donor"
                    ),
                ),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="BatchPart",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("kg", models.FloatField(verbose_name="weight, kg")),
                (
                    "batch",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.batch"
                    ),
                ),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Planting",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("crop", models.TextField(verbose_name="crop")),
                ("planted", models.DateField(verbose_name="planted")),
                ("harvested", models.DateField(verbose_name="last harvest")),
                ("share", models.FloatField(default=1.0, verbose_name="share of the bed")),
                ("yield_kg_m2", models.FloatField(blank=True, null=True, verbose_name="yield expected, kg/m²")),
                (
                    "bed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.bed"),
                ),
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
            name="Price",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("item", models.TextField(verbose_name="what")),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("price_per_kg", models.FloatField(verbose_name="price per kg")),
                ("seen_at", models.TextField(blank=True, default="", verbose_name="seen at")),
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
            name="Reading",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("depth_m", models.FloatField(blank=True, null=True, verbose_name="depth, m")),
                ("temp_c", models.FloatField(blank=True, null=True, verbose_name="temperature, °C")),
                ("feel", models.TextField(blank=True, null=True, verbose_name="a handful feels")),
                ("moisture_frac", models.FloatField(blank=True, null=True, verbose_name="moisture, 0 to 1")),
                ("smell", models.TextField(blank=True, null=True, verbose_name="smell")),
                ("photo", models.TextField(blank=True, default="", verbose_name="photo")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "batch",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.batch"
                    ),
                ),
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
            name="Report",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("file", models.TextField(verbose_name="file")),
                ("sample", models.TextField(blank=True, verbose_name="sample")),
                ("answers", models.JSONField(blank=True, default=dict, verbose_name="answers")),
                ("accepted", models.BooleanField(default=False, verbose_name="accepted")),
                (
                    "bed",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.bed",
                    ),
                ),
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
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.material",
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
            name="SoilValue",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("quantity", models.TextField(verbose_name="quantity")),
                ("value", models.FloatField(verbose_name="value")),
                ("unit", models.TextField(verbose_name="unit")),
                ("extractant", models.TextField(blank=True, verbose_name="extractant")),
                ("sampled_on", models.DateField(blank=True, null=True, verbose_name="sampled on")),
                ("lab", models.TextField(blank=True, verbose_name="laboratory")),
                (
                    "bed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.bed"),
                ),
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
            name="Supply",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("kg_per_week", models.FloatField(verbose_name="kg per week")),
                ("first", models.DateField(verbose_name="first day")),
                ("last", models.DateField(verbose_name="last day")),
                ("price_per_kg", models.FloatField(default=0.0, verbose_name="price per kg")),
                ("note", models.TextField(blank=True, verbose_name="note")),
                (
                    "donor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.donor"
                    ),
                ),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Turning",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "batch",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.batch"
                    ),
                ),
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
            name="WeatherDay",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("day", models.DateField(verbose_name="day")),
                ("min_temp_c", models.FloatField(verbose_name="lowest, °C")),
                ("max_temp_c", models.FloatField(verbose_name="highest, °C")),
                ("rain_mm", models.FloatField(verbose_name="rain, mm")),
                ("wind_m_s", models.FloatField(blank=True, null=True, verbose_name="wind, m/s")),
                ("humidity_frac", models.FloatField(blank=True, null=True, verbose_name="humidity, 0 to 1")),
                ("sun_mj_m2", models.FloatField(blank=True, null=True, verbose_name="sun, MJ/m²")),
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
                "ordering": ["day"],
                "abstract": False,
                "base_manager_name": "every",
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="WormBed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("key", models.SlugField(db_index=False, max_length=60, verbose_name="short name")),
                ("name", models.TextField(verbose_name="name")),
                ("area_m2", models.FloatField(verbose_name="open surface, m²")),
                ("worms_kg", models.FloatField(default=0.0, verbose_name="worms, kg")),
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
            },
            managers=[
                ("every", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="Watering",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("kg", models.FloatField(verbose_name="water, kg (litres)")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "batch",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.batch",
                    ),
                ),
                (
                    "bed",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.bed",
                    ),
                ),
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
                    "worm_bed",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.wormbed",
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
            name="Feeding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("kg", models.FloatField(verbose_name="weight, kg")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
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
                    "material",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.material"
                    ),
                ),
                (
                    "worm_bed",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.wormbed"
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
            name="Application",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("sent_as", models.UUIDField(editable=False, null=True)),
                ("on", models.DateField(db_index=True, verbose_name="day")),
                ("kg", models.FloatField(verbose_name="weight, kg")),
                ("use", models.TextField(verbose_name="how")),
                ("depth_m", models.FloatField(blank=True, null=True, verbose_name="thickness, m")),
                ("photo", models.TextField(blank=True, default="", verbose_name="photo")),
                ("by", models.TextField(blank=True, default="", verbose_name="by")),
                ("note", models.TextField(blank=True, default="", verbose_name="note")),
                (
                    "batch",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.batch",
                    ),
                ),
                (
                    "bed",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.bed"),
                ),
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
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.material",
                    ),
                ),
                (
                    "worm_bed",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.wormbed",
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
        migrations.AddConstraint(
            model_name="donor",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="donor_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="donor",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="donor_key_once"
            ),
        ),
        migrations.AddIndex(
            model_name="change",
            index=models.Index(fields=["garden", "kind", "row"], name="history_of_a_record"),
        ),
        migrations.AddConstraint(
            model_name="bed",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="bed_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="bed",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="bed_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="attachment",
            constraint=models.UniqueConstraint(fields=("garden", "path"), name="attachment_path_once"),
        ),
        migrations.AddConstraint(
            model_name="harvest",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="harvest_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="heap",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="heap_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="heap",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="heap_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="batch",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="batch_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="batch",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="batch_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="material",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="material_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="material",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="material_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="load",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="load_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="load",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="load_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="batchpart",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="batchpart_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="planting",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="planting_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="price",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="price_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="reading",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="reading_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="report",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="report_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="soilvalue",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="soilvalue_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="supply",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="supply_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="turning",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="turning_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="weatherday",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="weatherday_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="weatherday",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "day"), name="one_weather_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="wormbed",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="wormbed_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="wormbed",
            constraint=models.UniqueConstraint(
                condition=models.Q(("removed_at", None)), fields=("garden", "key"), name="wormbed_key_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="watering",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="watering_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="feeding",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="feeding_sent_once"),
        ),
        migrations.AddConstraint(
            model_name="application",
            constraint=models.UniqueConstraint(fields=("garden", "sent_as"), name="application_sent_once"),
        ),
    ]
