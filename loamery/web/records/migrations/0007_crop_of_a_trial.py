"""The crop a trial is grown on; an earlier version has no place for it, so going back leaves it out."""

from django.db import migrations, models


class Migration(migrations.Migration):
    """Add the crop."""

    dependencies = [
        ("records", "0006_files_become_records"),
    ]

    operations = [
        migrations.AddField(
            model_name="trial",
            name="crop",
            field=models.TextField(blank=True, default="", verbose_name="crop"),
        ),
    ]
