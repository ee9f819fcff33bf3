"""The addresses under /api: one set for each kind of record, made from the records of the garden folder."""

from __future__ import annotations

import uuid
from typing import Annotated, Any, Literal

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest
from ninja import File, NinjaAPI, Path, Query
from ninja.files import UploadedFile
from pydantic import BaseModel

from loamery import __version__
from loamery.web.api.doors import ByToken, tell_refusals
from loamery.web.api.shapes import Changes, Everything, Head, Kept, Problem, list_shape, row_shape
from loamery.web.people.roles import Role
from loamery.web.records import files, ledger
from loamery.web.records.models import KINDS, PARTS, Entry
from loamery.web.records.snapshot import snapshot
from loamery.web.records.views import needed

LARGEST = 2**63 - 1
Slug = Annotated[
    str, Path(description="short name of the garden, as in its address", max_length=60, pattern="^[a-z0-9-]+$")
]
Row = Annotated[int, Path(description="number the record is kept under", ge=1, le=LARGEST)]
First = Annotated[int, Query(description="how many to pass over", ge=0, le=LARGEST)]
Most = Annotated[int, Query(description="how many to give", ge=1, le=500)]
SentAs = Annotated[uuid.UUID | None, Query(description="a number of your own: the same one is taken only once")]
Place = Annotated[Literal["photos", "reports"], Query(description="what kind of file it is")]
REFUSALS: dict[int, Any] = {
    400: Problem,
    401: Problem,
    403: Problem,
    404: Problem,
    413: Problem,
    422: Problem,
    429: Problem,
}

api = NinjaAPI(
    title="Loamery", version=__version__, urls_namespace="api", docs_url=None,
    description="The records of one garden, in the shape of the garden folder. SI units: kilograms, metres, °C.",
)  # fmt: skip
tell_refusals(api)


@api.get(
    "/gardens/{slug}",
    response={200: Head, **REFUSALS},
    auth=ByToken(Role.READER),
    operation_id="garden",
    tags=["garden"],
)
def garden(request: HttpRequest, slug: Slug) -> Any:
    """Give the garden's settings, climate and counts."""
    held = snapshot(request.garden)
    beside = {kind: KINDS[kind].objects.filter(garden=request.garden).count() for kind in KINDS if kind not in PARTS}
    counts = {kind: len(getattr(held, kind)) if kind in PARTS else beside[kind] for kind in KINDS}
    return Head(slug=slug, version=request.garden.version, info=held.info, climate=held.climate, counts=counts)


@api.get(
    "/gardens/{slug}/everything",
    response={200: Everything, **REFUSALS},
    auth=ByToken(Role.READER),
    operation_id="everything",
    tags=["garden"],
)
def everything(request: HttpRequest, slug: Slug) -> Any:
    """Give the whole garden, as `loamery schema` describes it, and its trials."""
    held = snapshot(request.garden)
    trials = {kind: _all(request, kind) for kind in KINDS if kind not in PARTS}
    return Everything.model_construct(
        **{**{name: getattr(held, name) for name in type(held).model_fields}, **trials, "folder": ""}
    )


def _all(request: HttpRequest, kind: str) -> tuple[Any, ...]:
    table = KINDS[kind]
    return tuple(one.said for one in table.objects.filter(garden=request.garden).select_related(*table.links()))


@api.get(
    "/gardens/{slug}/changes",
    response={200: Changes, **REFUSALS},
    auth=ByToken(Role.READER),
    operation_id="changes",
    tags=["garden"],
)
def changes(request: HttpRequest, slug: Slug, first: First = 0, most: Most = 100) -> Any:
    """Give the changes of the garden, newest first."""
    found = request.garden.changes.all()
    told = [
        {"number": one.pk, "at": one.at, "who": one.who_said, "action": one.action, "kind": one.kind, "row": one.row,
         "before": one.before, "after": one.after}
        for one in found[first : first + most]
    ]  # fmt: skip
    return {"changes": told, "left": max(found.count() - first - len(told), 0)}


@api.post(
    "/gardens/{slug}/files",
    response={201: Kept, **REFUSALS},
    auth=ByToken(Role.LOGGER),
    operation_id="keep_file",
    tags=["garden"],
)
def keep_file(request: HttpRequest, slug: Slug, place: Place, file: Annotated[UploadedFile, File()]) -> Any:
    """Keep a photo or a laboratory's file; a record can then name its path."""
    if place == "reports" and request.role < needed("reports"):
        raise PermissionDenied
    return 201, {"path": files.keep(request.garden, file, place, request.user)}


def _found(request: HttpRequest, kind: str, row: int) -> Entry:
    table = KINDS[kind]
    entry: Entry | None = (
        table.every.select_related("garden", *table.links()).filter(garden=request.garden, pk=row).first()
    )
    if entry is None:
        raise Http404
    return entry


def _told(entry: Entry) -> dict[str, Any]:
    entry.__dict__.pop("said", None)
    return {"row": entry.pk, "record": entry.said}


def _reading(kind: str, row_of: type[BaseModel], list_of: type[BaseModel]) -> None:
    table, place = KINDS[kind], f"/gardens/{{slug}}/{kind}"

    def listed(request: HttpRequest, slug: Slug, first: First = 0, most: Most = 100) -> Any:
        found = table.objects.filter(garden=request.garden).select_related(*table.links())
        rows = [_told(one) for one in found[first : first + most]]
        return {"rows": rows, "left": max(found.count() - first - len(rows), 0)}

    def one(request: HttpRequest, slug: Slug, row: Row) -> Any:
        entry = _found(request, kind, row)
        if entry.removed_at is not None:
            raise Http404
        return _told(entry)

    words = kind.replace("_", " ")
    api.get(
        place,
        response={200: list_of, **REFUSALS},
        auth=ByToken(Role.READER),
        operation_id=f"list_{kind}",
        tags=[kind],
        summary=f"List {words}",
    )(listed)
    api.get(
        f"{place}/{{row}}",
        response={200: row_of, **REFUSALS},
        auth=ByToken(Role.READER),
        operation_id=f"get_{kind}",
        tags=[kind],
        summary=f"Give one of the {words}",
    )(one)


def _writing(kind: str, row_of: type[BaseModel]) -> None:
    record, place, who = KINDS[kind].record, f"/gardens/{{slug}}/{kind}", ByToken(needed(kind))

    def add(request: HttpRequest, slug: Slug, body: record, sent_as: SentAs = None) -> Any:  # type: ignore[valid-type]
        return 201, _told(ledger.add(request.garden, kind, body.model_dump(), request.user, sent_as=sent_as))  # type: ignore[attr-defined]

    def change(request: HttpRequest, slug: Slug, row: Row, body: record) -> Any:  # type: ignore[valid-type]
        entry = _found(request, kind, row)
        if entry.removed_at is not None:
            raise Http404
        return _told(ledger.edit(entry, body.model_dump(), request.user))  # type: ignore[attr-defined]

    def remove(request: HttpRequest, slug: Slug, row: Row) -> Any:
        ledger.remove(_found(request, kind, row), request.user)
        return 204, None

    def restore(request: HttpRequest, slug: Slug, row: Row) -> Any:
        return _told(ledger.restore(_found(request, kind, row), request.user))

    for made in (add, change):
        made.__annotations__ = {**made.__annotations__, "body": record}
    words = kind.replace("_", " ")
    api.post(
        place,
        response={201: row_of, **REFUSALS},
        auth=who,
        operation_id=f"add_{kind}",
        tags=[kind],
        summary=f"Add to the {words}",
    )(add)
    api.put(
        f"{place}/{{row}}",
        response={200: row_of, **REFUSALS},
        auth=who,
        operation_id=f"change_{kind}",
        tags=[kind],
        summary=f"Change one of the {words}",
    )(change)
    api.delete(
        f"{place}/{{row}}",
        response={204: None, **REFUSALS},
        auth=who,
        operation_id=f"remove_{kind}",
        tags=[kind],
        summary=f"Take out one of the {words}",
    )(remove)
    api.post(
        f"{place}/{{row}}/restore",
        response={200: row_of, **REFUSALS},
        auth=who,
        operation_id=f"restore_{kind}",
        tags=[kind],
        summary=f"Bring back one of the {words}",
    )(restore)


for _kind, _table in KINDS.items():
    _row = row_shape(_table.record)
    _reading(_kind, _row, list_shape(_table.record, _row))
    _writing(_kind, _row)
