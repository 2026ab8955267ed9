"""A logo is taken from a picture file within limits; what is none is a sentence and nothing is lost."""

from __future__ import annotations

import base64
import io
import json
import random
import struct
import zlib
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image, PngImagePlugin

from estimator.acts.edits import edited, edits_from
from estimator.acts.logo import LogoError, is_readable, logo_from, with_logo, without_logo
from estimator.cli import main
from estimator.documents.quote import unprintable, write_quote
from estimator.model.differences import differences
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.model.picture import MOST_BYTES, picture_bytes, picture_size
from estimator.store.jobs import JobFileError, job_from_text, job_text, load_job, save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.documents.studies import made, raw, text_of


def _file(picture: Image.Image, kind: str = "PNG", **more: Any) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **more)
    return file.getvalue()


def _chunk(kind: bytes, content: bytes) -> bytes:
    whole = kind + content
    return struct.pack(">I", len(content)) + whole + struct.pack(">I", zlib.crc32(whole))


def _png(width: int, height: int, *, pixels: bytes = b"", before: bytes = b"") -> bytes:
    """A PNG whose header says that it is so large, of very few bytes."""
    header = _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n" + header + before + _chunk(b"IDAT", zlib.compress(pixels)) + _chunk(b"IEND", b"")
    )


RED = _file(Image.new("RGB", (300, 100), (200, 20, 20)))


@pytest.mark.parametrize(
    ("size", "kept"), [((300, 100), (300, 100)), ((4000, 1000), (720, 180)), ((100, 1000), (24, 240))]
)
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_is_kept_as_png_with_its_aspect(
    size: tuple[int, int], kept: tuple[int, int], kind: str
) -> None:
    logo = logo_from(_file(Image.new("RGB", size, (200, 20, 20)), kind))
    assert picture_size(logo) == kept
    with Image.open(io.BytesIO(picture_bytes(logo))) as picture:
        assert picture.format == "PNG"
        red, green, blue = picture.convert("RGB").split()
        means = [band.resize((1, 1)).tobytes()[0] for band in (red, green, blue)]
        assert means == pytest.approx([200, 20, 20], abs=6)


def test_the_largest_that_is_kept_is_below_its_limit() -> None:
    """Noise with a veil, which no packing makes smaller."""

    noise = random.Random(7).randbytes(720 * 240 * 4)
    logo = logo_from(_file(Image.frombytes("RGBA", (720, 240), noise)))
    assert 600_000 < len(picture_bytes(logo)) < MOST_BYTES
    assert job_from_text(job_text(with_logo(Job(), logo)), "x").company.logo == logo


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "CMYK"])
def test_every_usual_kind_of_colours_is_taken(mode: str) -> None:
    content = _file(Image.new(mode, (40, 20)), "JPEG" if mode == "CMYK" else "PNG")
    assert picture_size(logo_from(content)) == (40, 20)


def test_nothing_that_a_camera_noted_is_kept_and_the_picture_stands_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned by a quarter
    exif[0x010E] = "Secret place"
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Author", "Secret person")
    turned = logo_from(_file(Image.new("RGB", (60, 20)), "JPEG", exif=exif))
    assert picture_size(turned) == (20, 60)
    plain = logo_from(_file(Image.new("RGB", (60, 20)), pnginfo=notes))
    for logo in (turned, plain):
        assert b"Secret" not in picture_bytes(logo) and b"Exif" not in picture_bytes(logo)


BAD = {
    "200 megapixels": (_png(20_000, 10_000), "more than 16 megapixels"),
    "20 megapixels": (_png(5_000, 4_001), "more than 16 megapixels"),
    "100 megapixels": (_png(10_000, 10_000), "more than 16 megapixels"),
    "a vector file": (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "drawing of lines"),
    "a vector bomb": (
        b'<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><svg>&b;</svg>',
        "drawing of lines",
    ),
    "a PDF": (b"%PDF-1.7\n", "drawing of lines"),
    "a text": (b"not a picture at all", "is no picture"),
    "nothing": (b"", "is no picture"),
    "another kind": (_file(Image.new("RGB", (9, 9)), "GIF"), "is no picture"),
    "cut off": (RED[: len(RED) // 2], "damaged"),
    "no pixels": (_png(300, 100), "damaged"),
    "a text bomb": (
        _png(9, 9, before=_chunk(b"zTXt", b"a\x00\x00" + zlib.compress(b"a" * 100_000_000, 9))),
        "damaged",
    ),
    "too many bytes": (b"\x89PNG\r\n\x1a\n" + bytes(20_000_001), "larger than 20 MB"),
}


@pytest.mark.parametrize("name", BAD)
@pytest.mark.filterwarnings("default::PIL.Image.DecompressionBombWarning")
def test_what_is_no_logo_is_a_sentence(name: str) -> None:
    content, words = BAD[name]
    with pytest.raises(LogoError, match=words):
        logo_from(content)


def test_it_stands_on_the_cover_within_its_box() -> None:
    job = made(raw()).job
    for size, box in (((720, 120), (172.0, 172.0 / 6)), ((100, 240), (58.0 / 2.4, 58.0))):
        logo = logo_from(_file(Image.new("RGBA", size, (200, 20, 20, 128))))
        pdf = write_quote(study(with_logo(job, logo), shipped_price_book(), STUDIED))
        page = pypdfium2.PdfDocument(pdf)[0]
        pictures = [o for o in page.get_objects() if o.type == 3]
        assert len(pictures) == 1
        left, bottom, right, top = pictures[0].get_bounds()
        assert (right - left, top - bottom) == pytest.approx(box, abs=0.5)
        # Above the company's name, inside the margins.
        assert left >= 50 and top <= page.get_size()[1] - 60
        again = write_quote(study(with_logo(job, logo), shipped_price_book(), STUDIED))
        assert again == pdf
    plain = pypdfium2.PdfDocument(write_quote(study(job, shipped_price_book(), STUDIED)))[0]
    assert [o for o in plain.get_objects() if o.type == 3] == []


def test_another_logo_is_no_change_of_the_work_and_is_told_without_its_letters() -> None:
    job = Job()
    one, other = with_logo(job, logo_from(RED)), with_logo(job, logo_from(_file(Image.new("L", (9, 9)))))
    told = [differences(a, b)[0].words for a, b in ((job, one), (one, other), (other, job))]
    assert told == [
        "Logo: none → a picture.",
        "Logo: a picture → another picture.",
        "Logo: a picture → none.",
    ]
    assert without_logo(one) == job


@pytest.mark.parametrize(
    ("logo", "words"),
    [
        ("§§", "no picture"),
        ("AAAA", "no picture"),
        (base64.b64encode(b"GIF89a" + bytes(60)).decode(), "no picture"),
        (base64.b64encode(_png(20_000, 10_000)).decode(), "larger than a job keeps"),
        (base64.b64encode(_png(0, 10)).decode(), "no picture"),
    ],
)
def test_a_file_with_another_text_in_its_place_is_told_by_it(logo: str, words: str) -> None:
    data = raw()
    data["company"]["logo"] = logo
    with pytest.raises(JobFileError) as caught:
        job_from_text(json.dumps(data), "x")
    assert [f.place for f in caught.value.findings] == ["company.logo"]
    assert words in caught.value.findings[0].message


def test_a_kept_picture_whose_pixels_are_damaged_is_told_and_the_job_opens() -> None:
    data = raw()
    data["company"]["logo"] = base64.b64encode(_png(300, 100)).decode()
    whole = made(data)
    assert not is_readable(whole.job.company.logo)
    (found,) = unprintable(whole)
    assert found.place == "company.logo" and "damaged" in found.message
    data["company"]["logo"] = base64.b64encode(RED).decode()
    assert unprintable(made(data)) == ()


def test_nobody_types_a_picture_and_an_empty_text_removes_it() -> None:
    job = with_logo(Job(), logo_from(RED))
    with pytest.raises(EditError, match="taken from its file"):
        edited(job, edits_from({"set": "company.logo", "to": "iVBOR"}))
    assert edited(job, edits_from({"set": "company.logo", "to": ""})).whole == Job()


def test_the_command_line_takes_it_by_its_path_and_removes_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job, picture = tmp_path / "job.baydrop", tmp_path / "logo.png"
    save_job(job, made(raw()).job)
    before = job.read_bytes()
    for content, words in (*BAD.values(), (None, "logo.png")):
        if content is not None and b"zTXt" in content:
            continue  # as damaged as the others, and slow to make
        picture.unlink(missing_ok=True)
        if content is not None:
            picture.write_bytes(content)
        assert main(["logo", "choose", str(job), str(picture)]) == 2
        assert words in capsys.readouterr().err or len(content or b"") > 20_000_000
        assert job.read_bytes() == before
    picture.write_bytes(RED)
    assert main(["logo", "choose", str(job), str(picture), "--date", "2027-03-01"]) == 0
    assert load_job(job).company.logo == logo_from(RED)
    assert main(["logo", "remove", str(job), "--date", "2027-03-01"]) == 0
    assert job.read_bytes() == before
    assert "Lantern Row" in text_of(write_quote(made(raw())))
