"""Photos: by hash, in parts, resumed, damaged, turned upright, freed of their location."""

import hashlib
import io
import random

import pytest
from PIL import Image

from hullwright.errors import InputError
from hullwright.store import sql
from hullwright.store.backup import backup, restore, verify
from hullwright.store.database import Store
from hullwright.store.photo_clean import clean
from hullwright.store.photos import (
    MOST_BYTES,
    MOST_PART,
    Cleaned,
    arrived,
    finish,
    photo,
    photo_hashes,
    put_part,
)

DATA = random.Random(1).randbytes(10_000)
SHA = hashlib.sha256(DATA).hexdigest()


def kept(data):
    return Cleaned(b"clean:" + data[:10], 4, 3)


def send(store, spans, data=DATA, sha=SHA):
    for start, end in spans:
        put_part(store, sha, data[start:end], start=start, total=len(data))


def test_half_sent_photo_is_resumed(store, sending):
    send(store, [(0, 4000)])
    assert arrived(store, SHA).next_byte == 4000
    store.close()
    with Store(store.path) as again:  # the phone was switched off
        assert arrived(again, SHA).next_byte == 4000
        send(again, [(4000, 7000), (4000, 7000), (7000, 10_000)])  # one part twice
        done = finish(again, SHA, kept, now=sending.now)
        assert (done.complete, done.next_byte) == (True, 10_000)
        assert photo(again, SHA).data == b"clean:" + DATA[:10]
        assert photo_hashes(again) == {SHA}
        assert put_part(again, SHA, DATA[:5], start=0, total=10_000).complete  # sent once more: taken as said
        assert again.connection.execute("SELECT count(*) FROM photo_part").fetchone()[0] == 0


def test_parts_in_any_order(store, sending):
    send(store, [(7000, 10_000), (0, 4000), (3000, 7500)])
    assert arrived(store, SHA).next_byte == 10_000
    assert finish(store, SHA, kept, now=sending.now).complete


def test_a_missing_part_is_said(store, sending):
    send(store, [(0, 4000), (5000, 10_000)])
    assert arrived(store, SHA).next_byte == 4000
    with pytest.raises(InputError, match="not complete"):
        finish(store, SHA, kept, now=sending.now)
    with pytest.raises(InputError, match="not here"):
        photo(store, SHA)


def test_a_damaged_photo_is_dropped_and_can_be_sent_again(store, sending):
    send(store, [(0, 10_000)], data=DATA[:-1] + b"?")
    with pytest.raises(InputError, match="damaged"):
        finish(store, SHA, kept, now=sending.now)
    assert arrived(store, SHA).next_byte == 0
    send(store, [(0, 10_000)])
    assert finish(store, SHA, kept, now=sending.now).complete


def test_a_photo_that_cannot_be_cleaned_is_not_kept(store, sending):
    send(store, [(0, 10_000)])

    def refuse(data):
        raise InputError("no photo")

    with pytest.raises(InputError, match="no photo"):
        finish(store, SHA, refuse, now=sending.now)
    assert photo_hashes(store) == frozenset()


@pytest.mark.parametrize(
    ("start", "total", "length"),
    [(-1, 10, 5), (0, 0, 5), (0, MOST_BYTES + 1, 5), (8, 10, 5), (0, 10, 0), (0, MOST_BYTES, MOST_PART + 1)],
)
def test_impossible_parts_are_refused(store, start, total, length):
    with pytest.raises(InputError, match="can't be taken"):
        put_part(store, SHA, b"x" * length, start=start, total=total)


def test_names_and_sizes_must_agree(store):
    for name in ("../../etc/passwd", SHA.upper(), SHA[:-1], ""):
        with pytest.raises(InputError, match="hash"):
            put_part(store, name, b"x", start=0, total=1)
    put_part(store, SHA, b"x", start=0, total=10)
    with pytest.raises(InputError, match="can't be taken"):
        put_part(store, SHA, b"x", start=1, total=11)


def test_photos_come_back_from_a_backup(store, tmp_path, sending):
    send(store, [(0, 10_000)])
    finish(store, SHA, kept, now=sending.now)
    saved = tmp_path / "saved.sqlite3"
    assert backup(store.path, saved).photos == 1
    restore(saved, tmp_path / "new" / "store.sqlite3")
    with Store(tmp_path / "new" / "store.sqlite3") as new:
        assert photo(new, SHA) == photo(store, SHA)
    store.connection.execute("UPDATE photo SET bytes = ?", (b"\0",))
    assert "photo" in verify(store.path).problems[0].message


def test_a_store_without_photos_still_verifies(tmp_path):
    Store(tmp_path / "s.sqlite3", sql.SCHEMA[:1]).close()
    assert verify(tmp_path / "s.sqlite3").ok


def picture(size=(40, 20), fmt="JPEG", orientation=None, place=True):
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 4, size[1] // 2))  # red in the upper left
    exif = Image.Exif()
    if orientation:
        exif[0x0112] = orientation
    if place:
        exif.get_ifd(0x8825)[2] = (52.0, 31.0, 12.0)
    out = io.BytesIO()
    image.save(out, fmt, exif=exif)
    return out.getvalue()


def opened(data):
    return Image.open(io.BytesIO(data))


def test_location_and_all_other_metadata_go():
    data = picture(orientation=1)
    assert opened(data).getexif().get_ifd(0x8825)  # it was there
    out = clean(data)
    image = opened(out.data)
    assert not image.getexif()
    assert "exif" not in image.info
    assert (out.width, out.height) == (40, 20)


@pytest.mark.parametrize(
    ("orientation", "size", "red_at"),
    [(1, (40, 20), (3, 3)), (3, (40, 20), (36, 16)), (6, (20, 40), (16, 3)), (8, (20, 40), (3, 36))],
)
def test_photos_are_turned_upright(orientation, size, red_at):
    # Source: Exif 2.3, tag 0x0112: 1 as is, 3 by 180, 6 by 90 clockwise, 8 by 90 counter-clockwise.
    # Tolerance: red well above green, JPEG at quality 85.
    out = opened(clean(picture(orientation=orientation)).data).convert("RGB")
    assert out.size == size
    red, green, _ = out.getpixel(red_at)
    assert red > 200
    assert green < 100


def test_large_pictures_are_made_smaller_and_bombs_refused():
    out = clean(picture((4000, 100), place=False))
    assert max(out.width, out.height) == 2560
    bomb = picture((9000, 9000), fmt="PNG", place=False)  # 81 megapixels in a few kilobytes
    with pytest.raises(InputError, match="too many pixels"):
        clean(bomb)


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\xff\xd8\xff junk", b"x" * (MOST_BYTES + 1)])
def test_what_is_no_photo_is_refused(data):
    with pytest.raises(InputError, match="can't be kept"):
        clean(data)


def test_a_cut_photo_is_refused():
    with pytest.raises(InputError, match="can't be kept"):
        clean(picture((400, 400))[:-500])
