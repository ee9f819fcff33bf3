"""Addresses of records."""

from __future__ import annotations

from django.urls import path

from loamery.web.records import views

app_name = "records"
urlpatterns = [
    path("health", views.health, name="health"),
    path("bring", views.bring, name="bring"),
    path("g/<slug:slug>/changes", views.changes, name="changes"),
    path("g/<slug:slug>/changes/<int:pk>/undo", views.undo, name="undo"),
    path("g/<slug:slug>/folder.zip", views.take_away, name="take-away"),
    path("g/<slug:slug>/files/<path:path>", views.file, name="file"),
    path("g/<slug:slug>/records/<slug:kind>", views.listing, name="listing"),
    path("g/<slug:slug>/records/<slug:kind>/add", views.add, name="add"),
    path("g/<slug:slug>/records/<slug:kind>/<int:pk>/edit", views.edit, name="edit"),
    path("g/<slug:slug>/records/<slug:kind>/<int:pk>/history", views.history, name="history"),
    path("g/<slug:slug>/records/<slug:kind>/<int:pk>/remove", views.remove, name="remove"),
    path("g/<slug:slug>/records/<slug:kind>/<int:pk>/restore", views.restore, name="restore"),
]
