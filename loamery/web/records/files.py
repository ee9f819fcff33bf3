"""Files that people give: their names made safe, their kind looked at, their size bounded, written whole."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from pathlib import Path, PurePosixPath

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Sum

from loamery.errors import InputError, Where
from loamery.garden.checks import inside
from loamery.saving import save_bytes
from loamery.say import say
from loamery.web.people.models import Person
from loamery.web.records.models import Attachment, Garden

MOST_BYTES = 15 * 2**20
MOST_GARDEN_BYTES = 2 * 2**30
STARTS: dict[str, tuple[bytes, ...]] = {
    ".jpg": (b"\xff\xd8\xff",), ".jpeg": (b"\xff\xd8\xff",), ".png": (b"\x89PNG\r\n\x1a\n",), ".webp": (b"RIFF",),
    ".pdf": (b"%PDF-",), ".xlsx": (b"PK\x03\x04",),
}  # fmt: skip
"""What a file of each kind begins with; text files have no such mark and are looked through for zero bytes."""
TEXTS = (".csv", ".tsv", ".txt", ".toml")
PHOTOS = (".jpg", ".jpeg", ".png", ".webp")
REPORTS = (".csv", ".tsv", ".txt", ".xlsx", ".pdf")
MEDIA = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp", ".pdf": "application/pdf",
         ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}  # fmt: skip


def keep(garden: Garden, upload: UploadedFile, place: str, who: Person | None) -> str:
    """Keep a file that somebody sent and return its path inside the garden's folder.

    Parameters
    ----------
    place : ``reports`` or ``photos``; decides which kinds of file are taken.

    Raises
    ------
    InputError : too large, of another kind than its name says, or the garden is full.
    """
    if upload.size is None or upload.size > MOST_BYTES:
        raise _refused(
            upload.name, say("{count} bytes", count=upload.size), say("at most {size} MiB", size=MOST_BYTES // 2**20)
        )
    content = upload.read(MOST_BYTES + 1)
    return keep_bytes(garden, upload.name or "", content, place, who)


def keep_bytes(garden: Garden, name: str, content: bytes, place: str, who: Person | None) -> str:
    """Keep the content of a file; see `keep`."""
    kinds = PHOTOS if place == "photos" else REPORTS
    look_at(name, content, kinds)
    with transaction.atomic():
        Garden.objects.select_for_update().get(pk=garden.pk)
        held = garden.attachments.aggregate(sum=Sum("bytes"))["sum"] or 0
        if held + len(content) > MOST_GARDEN_BYTES:
            raise _refused(
                name, say("no room left"), say("at most {size} GiB in a garden", size=MOST_GARDEN_BYTES // 2**30)
            )
        content = without_place(content) if place == "photos" else content
        path = _free(garden, place, safe_name(name))
        save_bytes(garden.folder / path, content)
        note(garden, path, content, who)
    return path


def note(garden: Garden, path: str, content: bytes, who: Person | None) -> None:
    """Write down that a garden has a file, and what was in it."""
    Attachment.objects.create(
        garden=garden, path=path, bytes=len(content), sha256=hashlib.sha256(content).hexdigest(), by=who
    )


def look_at(name: str, content: bytes, kinds: tuple[str, ...]) -> None:
    """Look whether a file is of the kind its name says, and of a kind that is taken.

    Raises
    ------
    InputError : it is not.
    """
    kind = PurePosixPath(name).suffix.lower()
    if kind not in kinds:
        raise _refused(
            name,
            say("a “{kind}” file", kind=kind) if kind else say("a “nameless kind of” file"),
            say("one of ") + ", ".join(kinds),
        )
    if not content:
        raise _refused(name, say("an empty file"), say("a file that holds something"))
    right = b"\0" not in content if kind in TEXTS else content.startswith(STARTS[kind])
    if not right:
        raise _refused(name, say("no {kind} inside", kind=kind), say("a file that is what its name says"))


def without_place(content: bytes) -> bytes:
    """Return a photo without what the camera wrote into it beside the picture: where it was taken, with which phone.

    Raises
    ------
    InputError : it cannot be opened as a picture.
    """
    import io
    import warnings

    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content)) as picture:
                kind = picture.format or "JPEG"
                upright = ImageOps.exif_transpose(picture)
        stream = io.BytesIO()
        upright.info.pop("exif", None)
        upright.save(stream, kind, **({"quality": 88} if kind in ("JPEG", "WEBP") else {}))
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
        OSError,
        ValueError,
        SyntaxError,
    ) as error:
        raise _refused(
            say("the photo"), say("it cannot be opened ({kind})", kind=type(error).__name__), say("a picture")
        ) from None
    return stream.getvalue()


def safe_name(name: str) -> str:
    """Return a file name of plain letters that is no path and no device, with its ending in small letters."""
    last = PurePosixPath(name.replace("\\", "/")).name
    plain = unicodedata.normalize("NFKD", last).encode("ascii", "ignore").decode()
    stem, dot, ending = plain.rpartition(".")
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", stem if dot else ending).strip("-_.")[:60] or "file"
    return f"{stem}.{ending.lower()}" if dot else stem


def _free(garden: Garden, place: str, name: str) -> str:
    path, number = f"{place}/{name}", 1
    while garden.attachments.filter(path=path).exists() or (garden.folder / path).exists():
        number += 1
        stem = PurePosixPath(name)
        path = f"{place}/{stem.stem}-{number}{stem.suffix}"
    return path


def path_of(garden: Garden, path: str) -> Path | None:
    """Return where a kept file is, None when the garden has none of that name."""
    if not garden.attachments.filter(path=path).exists():
        return None
    found = inside(garden.folder, path)
    return found if found.is_file() else None


def _refused(name: str | None, read: str, expected: str) -> InputError:
    return InputError(
        read, where=Where(file=name), expected=expected, remedy=say("choose another file; nothing was kept")
    )
