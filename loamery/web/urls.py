"""All addresses of the web page."""

from __future__ import annotations

from django.urls import include, path

from loamery.web.api.urls import urls as api

urlpatterns = [
    path("api/", api),
    path("", include("loamery.web.pages.urls")),
    path("", include("loamery.web.records.urls")),
    path("", include("loamery.web.people.urls")),
]

handler400, handler403 = "loamery.web.pages.refusals.unreadable", "loamery.web.pages.refusals.not_yours"
handler404, handler500 = "loamery.web.pages.refusals.not_there", "loamery.web.pages.refusals.failed"
