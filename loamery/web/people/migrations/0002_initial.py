"""Tables as Django wrote them down."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("people", "0001_initial"),
        ("records", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="audit",
            name="garden",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="records.garden"
            ),
        ),
        migrations.AddField(
            model_name="audit",
            name="person",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="invitation",
            name="garden",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="invitations", to="records.garden"
            ),
        ),
        migrations.AddField(
            model_name="membership",
            name="garden",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="memberships", to="records.garden"
            ),
        ),
        migrations.AddField(
            model_name="membership",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="memberships", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="token",
            name="garden",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="tokens", to="records.garden"
            ),
        ),
        migrations.AddField(
            model_name="token",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="tokens", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddConstraint(
            model_name="membership",
            constraint=models.UniqueConstraint(fields=("person", "garden"), name="one_role_each"),
        ),
    ]
