"""Addresses of the pages people work with."""

from __future__ import annotations

from django.urls import path

from loamery.web.pages import views

app_name = "pages"
urlpatterns = [
    path("", views.entrance, name="entrance"),
    path("g/<slug:slug>/", views.today, name="today"),
]
