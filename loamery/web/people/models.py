"""Persons, what they may do in which garden, invitations, tokens, and the audit log."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from loamery.web.people.roles import CHOICES, Role

INVITATION_LASTS = timedelta(days=14)


class Persons(BaseUserManager):
    """How persons are made and found."""

    def create_user(self, email: str, name: str = "", password: str | None = None, **more: Any) -> Person:
        """Return a new person; without a password nobody can log in as them until one is set."""
        person: Person = self.model(email=self.normalize_email(email).lower(), name=name, **more)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        """Return the person of an address, whatever its capitals."""
        found: Person = self.get(email__iexact=username)
        return found


class Person(AbstractBaseUser):
    """Somebody who logs in with a mail address."""

    email = models.EmailField(_("mail address"), unique=True)
    name = models.CharField(_("name"), max_length=80, blank=True)
    is_active = models.BooleanField(default=True)
    units = models.CharField(
        _("units"), max_length=6, blank=True, choices=[("metric", _("metric")), ("us", _("US customary"))]
    )
    language = models.CharField(_("language"), max_length=5, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    objects = Persons()

    def __str__(self) -> str:
        return self.name or self.email

    def get_full_name(self) -> str:
        """Return what to call the person."""
        return str(self)


class Membership(models.Model):
    """A person in a garden."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    garden = models.ForeignKey("records.Garden", on_delete=models.CASCADE, related_name="memberships")
    role = models.PositiveSmallIntegerField(_("role"), choices=CHOICES)

    class Meta:
        """One role for each person and garden."""

        constraints = [models.UniqueConstraint(fields=["person", "garden"], name="one_role_each")]


def digest(token: str) -> str:
    """Return what is stored of a token: nobody who reads the database can use it."""
    return hashlib.sha256(token.encode()).hexdigest()


def new_token() -> str:
    """Return a new secret token."""
    return secrets.token_urlsafe(32)


class Invitation(models.Model):
    """A link that lets one person into a garden, once."""

    garden = models.ForeignKey("records.Garden", on_delete=models.CASCADE, related_name="invitations")
    email = models.EmailField(_("mail address"))
    role = models.PositiveSmallIntegerField(_("role"), choices=CHOICES, default=Role.LOGGER)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    by = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    used_at = models.DateTimeField(null=True, editable=False)

    @property
    def is_open(self) -> bool:
        """Tell whether it can still be used."""
        return self.used_at is None and timezone.now() < self.made_at + INVITATION_LASTS


class Token(models.Model):
    """What a program shows instead of a login: for one person and one garden, with at most that person's role."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="tokens")
    garden = models.ForeignKey("records.Garden", on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(_("what it is for"), max_length=80)
    role = models.PositiveSmallIntegerField(_("may do"), choices=CHOICES, default=Role.READER)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    ended_at = models.DateTimeField(null=True, editable=False)


class Audit(models.Model):
    """One line of the audit log: who did what to people, keys and settings, and failed logins."""

    at = models.DateTimeField(default=timezone.now, editable=False, db_index=True)
    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    garden = models.ForeignKey("records.Garden", null=True, on_delete=models.CASCADE, related_name="+")
    what = models.CharField(max_length=40)
    about = models.CharField(max_length=200, blank=True)

    class Meta:
        """Newest first."""

        ordering = ["-pk"]


def audit(what: str, person: Person | None = None, garden: Any = None, about: str = "") -> None:
    """Write a line into the audit log."""
    Audit.objects.create(what=what, person=person, garden=garden, about=about[:200])
