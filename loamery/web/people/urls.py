"""Addresses of people."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import views as auth
from django.urls import path, reverse_lazy

from loamery.web.people import views
from loamery.web.people.access import anyone, person
from loamery.web.people.forms import LoginForm
from loamery.web.people.limits import MAIL, limited

app_name = "people"


def _page(view: Any, template: str, **options: Any) -> Any:
    return view.as_view(template_name=f"{template}.html.j2", **options)


urlpatterns = [
    path("login", anyone(_page(auth.LoginView, "login", authentication_form=LoginForm, redirect_authenticated_user=True)), name="login"),
    path("logout", anyone(auth.LogoutView.as_view()), name="logout"),
    path("me", views.me, name="me"),
    path(
        "password",
        person(_page(auth.PasswordChangeView, "password", success_url=reverse_lazy("people:me"))),
        name="password",
    ),
    path(
        "reset",
        anyone(
            limited(MAIL)(
                _page(
                    auth.PasswordResetView, "reset", email_template_name="reset_mail.txt.j2",
                    subject_template_name="reset_subject.txt.j2", success_url=reverse_lazy("people:reset-sent"),
                )
            )
        ),
        name="reset",
    ),
    path("reset/sent", anyone(_page(auth.PasswordResetDoneView, "reset_sent")), name="reset-sent"),
    path(
        "reset/<uidb64>/<token>",
        anyone(_page(auth.PasswordResetConfirmView, "password", success_url=reverse_lazy("people:login"))),
        name="reset-confirm",
    ),
    path("join/<str:token>", views.join, name="join"),
    path("g/<slug:slug>/people", views.people, name="people"),
    path("g/<slug:slug>/people/invite", views.invite, name="invite"),
    path("g/<slug:slug>/people/<int:pk>/role", views.change_role, name="role"),
    path("g/<slug:slug>/people/invitations/<int:pk>/withdraw", views.withdraw, name="withdraw"),
    path("g/<slug:slug>/tokens", views.tokens, name="tokens"),
    path("g/<slug:slug>/tokens/<int:pk>/end", views.end_token, name="end-token"),
]  # fmt: skip
