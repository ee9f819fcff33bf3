"""Uploads: what they are, how large, what they are called, what is written beside a photo."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from loamery.errors import InputError
from loamery.web.records import files
from tests.web.conftest import World


def photo(kind: str = "JPEG", **more: object) -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (40, 30), (90, 60, 30)).save(stream, kind, **more)
    return stream.getvalue()


def located() -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "Maker of phones"
    exif.get_ifd(0x8825)[1] = "N"
    return photo(exif=exif)


def test_a_photo_is_kept_without_where_it_was_taken(world: World) -> None:
    assert b"Maker of phones" in located()
    path = files.keep(world.ours, SimpleUploadedFile("heap.JPG", located()), "photos", None)
    kept = (world.ours.folder / path).read_bytes()
    assert path == "photos/heap.jpg"
    assert b"Maker of phones" not in kept
    assert not Image.open(io.BytesIO(kept)).getexif()


def test_the_same_name_twice_keeps_both(world: World) -> None:
    paths = {files.keep(world.ours, SimpleUploadedFile("heap.png", photo("PNG")), "photos", None) for _ in range(3)}
    assert paths == {"photos/heap.png", "photos/heap-2.png", "photos/heap-3.png"}


@pytest.mark.parametrize(
    ("name", "content", "place", "says"),
    [
        ("x.jpg", b"<script>alert(1)</script>", "photos", "no .jpg inside"),
        ("x.svg", b"<svg/>", "photos", "“.svg”"),
        ("x.html", b"<p>", "reports", "“.html”"),
        ("x", b"a,b", "reports", "nameless"),
        ("x.csv", b"", "reports", "empty"),
        ("x.csv", b"a\0b", "reports", "no .csv inside"),
        ("x.xlsx", b"a,b", "reports", "no .xlsx inside"),
        ("x.pdf.exe", b"%PDF-1.4", "reports", "“.exe”"),
        ("x.png", b"\x89PNG\r\n\x1a\nbroken", "photos", "cannot be opened"),
    ],
)
def test_what_is_not_what_it_says_is_refused(world: World, name: str, content: bytes, place: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        files.keep_bytes(world.ours, name, content, place, None)
    assert not world.ours.attachments.exists()


def test_a_picture_that_would_fill_the_memory_is_refused(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 500)
    with pytest.raises(InputError, match="cannot be opened"):
        files.keep_bytes(world.ours, "x.png", photo("PNG"), "photos", None)


def test_too_large_and_no_room_left(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "MOST_BYTES", 100)
    with pytest.raises(InputError, match="bytes"):
        files.keep(world.ours, SimpleUploadedFile("x.csv", b"a" * 101), "reports", None)
    monkeypatch.setattr(files, "MOST_GARDEN_BYTES", 10)
    with pytest.raises(InputError, match="no room"):
        files.keep_bytes(world.ours, "x.csv", b"a" * 11, "reports", None)


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("../../etc/passwd.csv", "passwd.csv"),
        ("C:\\temp\\Été 2027.CSV", "Ete-2027.csv"),
        ("..csv", "file.csv"),
        (".htaccess.csv", "htaccess.csv"),
        ("a\0b.csv", "a-b.csv"),
        ("x" * 300 + ".csv", "x" * 60 + ".csv"),
    ],
)
def test_names_are_made_plain(given: str, kept: str) -> None:
    assert files.safe_name(given) == kept


def test_a_report_is_given_as_a_download_and_a_photo_to_look_at(world: World, client_of) -> None:
    report = files.keep_bytes(world.ours, "r.csv", b"<script>,1\n", "reports", None)
    picture = files.keep_bytes(world.ours, "p.jpg", photo(), "photos", None)
    client = client_of("reader")
    answer = client.get(f"/g/ours/files/{report}")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert answer.headers["Content-Type"].startswith("text/plain")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    assert client.get(f"/g/ours/files/{picture}").headers["Content-Type"] == "image/jpeg"
    for path in ("../../secret-key", "reports/../../1/reports/r.csv", "reports/none.csv", "garden.toml"):
        assert client.get(f"/g/ours/files/{path}").status_code == 404
