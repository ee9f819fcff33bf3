"""Forms of people: logging in, inviting, joining, keys for programs."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

from loamery.web.people.limits import LOGIN_BY_NAME, LOGIN_BY_PLACE, place
from loamery.web.people.models import Invitation, Person, Token, audit
from loamery.web.people.roles import Role


class LoginForm(AuthenticationForm):
    """Mail address and password; tries are counted by place and by address."""

    def clean(self) -> Any:
        """Return the data of somebody who may come in."""
        name = str(self.cleaned_data.get("username", "")).lower()
        if not (LOGIN_BY_PLACE.tried(place(self.request)) and LOGIN_BY_NAME.tried(name)):
            raise forms.ValidationError(_("Too many tries. Wait ten minutes, then try again."))
        try:
            return super().clean()
        except forms.ValidationError:
            audit("login refused", about=name)
            raise


class InvitationForm(forms.ModelForm):
    """Whom to invite, and what they may do."""

    class Meta:
        """Address and role."""

        model = Invitation
        fields = ("email", "role")


class JoinForm(forms.Form):
    """Name and password of somebody who was invited and is new."""

    name = forms.CharField(label=_("Your name"), max_length=80)
    password = forms.CharField(
        label=_("A password, at least ten characters"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, email: str, **kwargs: Any) -> None:
        self.email = email
        super().__init__(*args, **kwargs)

    def clean(self) -> Any:
        """Return the data when the password is hard to guess."""
        data = super().clean() or {}
        if password := data.get("password"):
            try:
                password_validation.validate_password(password, Person(email=self.email, name=data.get("name", "")))
            except forms.ValidationError as error:
                self.add_error("password", error)
        return data


class TokenForm(forms.ModelForm):
    """What a key is for and what it may do, at most what its person may."""

    def __init__(self, *args: Any, most: Role, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].choices = [(role.value, role.label) for role in Role if role <= most]

    class Meta:
        """Name and role."""

        model = Token
        fields = ("name", "role")


class SelfForm(forms.ModelForm):
    """How a person wants to be called and to read numbers."""

    class Meta:
        """Name, units and language."""

        model = Person
        fields = ("name", "units")
