"""Addresses of the pages people work with."""

from __future__ import annotations

from django.urls import path

from loamery.web.pages import answers, beginning, phone, planning, reports, sheets, views

app_name = "pages"
urlpatterns = [
    path("", views.entrance, name="entrance"),
    path("begin", beginning.begin, name="begin"),
    path("language", views.language, name="language"),
    path("worker.js", phone.worker, name="worker"),
    path("open/<slug:garden>/", sheets.public, name="public"),
    path("open/<slug:garden>/origin/", sheets.public_origin, name="public-origin"),
    path("g/<slug:slug>/", views.today, name="today"),
    path("g/<slug:slug>/done/<int:index>", views.done, name="done"),
    path("g/<slug:slug>/done/<int:index>/differently", views.differently, name="differently"),
    path("g/<slug:slug>/more/", views.more, name="more"),
    path("g/<slug:slug>/origin/", views.origin, name="origin"),
    path("g/<slug:slug>/kept/<slug:kind>/<int:place>", views.kept, name="kept"),
    path("g/<slug:slug>/materials/", views.materials, name="materials"),
    path("g/<slug:slug>/materials/<slug:key>/", views.material, name="material"),
    path("g/<slug:slug>/materials/<slug:key>/sheet.pdf", sheets.factsheet, name="factsheet"),
    path("g/<slug:slug>/beds/", views.beds, name="beds"),
    path("g/<slug:slug>/beds/<slug:key>/", views.bed, name="bed"),
    path("g/<slug:slug>/heaps/", views.heaps, name="heaps"),
    path("g/<slug:slug>/heaps/<slug:key>/", views.heap, name="heap"),
    path("g/<slug:slug>/heaps/<slug:key>/inside/", views.inside, name="inside"),
    path("g/<slug:slug>/worms/<slug:key>/", views.worms, name="worms"),
    path("g/<slug:slug>/settings/", views.settings, name="settings"),
    path("g/<slug:slug>/season/", planning.season, name="season"),
    path("g/<slug:slug>/season/change", planning.change, name="change"),
    path("g/<slug:slug>/season/unchange", planning.unchange, name="unchange"),
    path("g/<slug:slug>/season/solve", planning.solve, name="solve"),
    path("g/<slug:slug>/season/stop", planning.stop, name="stop"),
    path("g/<slug:slug>/season/work", planning.job, name="job"),
    path("g/<slug:slug>/reports/", reports.reports, name="reports"),
    path("g/<slug:slug>/reports/upload", reports.upload, name="upload"),
    path("g/<slug:slug>/reports/<int:pk>/", reports.review, name="review"),
    path("g/<slug:slug>/tests/", answers.tests, name="tests"),
    path("g/<slug:slug>/what-if/", answers.what_if, name="what-if"),
    path("g/<slug:slug>/ask", answers.ask, name="ask"),
    path("g/<slug:slug>/sheets/", sheets.sheets, name="sheets"),
    path("g/<slug:slug>/sheets/publish", sheets.publish, name="publish"),
    path("g/<slug:slug>/sheets/<str:name>", sheets.sheet, name="sheet"),
    path("g/<slug:slug>/here/", phone.here, name="here"),
    path("g/<slug:slug>/here/token", phone.token, name="token"),
    path("g/<slug:slug>/here/send", phone.send, name="send"),
]
