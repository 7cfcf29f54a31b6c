"""``triage``: a folder and a mail read, looked at or kept, and mails that are no mails."""

from __future__ import annotations

import json
import random
from contextlib import suppress
from pathlib import Path

import pytest

from fakes.commands import Run
from fakes.first_calls import mail, picture
from heelstamp.casework.first_call.asked import Asked
from heelstamp.errors import InputError, LimitError
from heelstamp.media.mail import MOST_DEPTH, read_mail
from heelstamp.reference.first_call import load_first_call
from heelstamp.shop.opened import OpenShop

ASKED: Asked = load_first_call()
SMALL = picture(size=(2200, 1650))
REPLY = """Hello, here is what you asked for.

> serial: S00001
The serial number, as you read it: S10350
case: yes
Does it belong to you alone? (yes, no, not sure): yes
IMG_0031.jpg: head-front
IMG_0032.jpg: the whole back
"""


def test_a_mail_is_looked_at_without_a_shop(run: Run, tmp_path: Path) -> None:
    pictures = {"IMG_0031.jpg": SMALL, "IMG_0032.jpg": SMALL, "overall-front.jpg": picture(blur=7)}
    (tmp_path / "reply.eml").write_bytes(mail(REPLY, pictures))
    done = run("triage", "reply.eml", "--as", "sallowby-wherry", "--json")
    assert done.code == 1, done.err
    told = json.loads(done.out)
    assert told["answers"] == {"serial": "S10350", "case": "yes", "only_owner": "yes"}
    frames = {one["frame"]: one for one in told["frames"]}
    assert len(frames) == 10
    assert frames["head-front"]["usable"]
    assert frames["overall-back"]["usable"]
    faults = [one for one in frames["overall-front"]["judged"] if one["verdict"] == "fault"]
    assert [one["of"] for one in faults] == ["sharp"]
    assert told["months"]["strength"] == "as told"
    first, last = told["months"]["interval_90"]
    assert first < "1965-04" < last
    assert not list(tmp_path.glob("first-calls"))


def test_a_folder_is_kept_and_becomes_a_dossier(run: Run, tmp_path: Path, typed_shop: Path) -> None:
    folder = tmp_path / "sent"
    folder.mkdir()
    for one in ASKED.frames[:2]:
        (folder / f"{one.slot}.jpg").write_bytes(picture(shade=len(one.slot)))
    (folder / "reply.txt").write_text("serial: S10350\n")
    (folder / "broken.jpg").write_bytes(b"\xff\xd8\xff no more")
    told = ("--as", "sallowby-wherry", "--shop", typed_shop)
    done = run("triage", "sent", "--keep", "--about", "attic find", *told)
    assert done.code == 1, done.err
    assert "Kept as call-0001." in done.out
    assert "broken.jpg" in done.out
    message = run("triage", "call-0001", "--message", "--shop", typed_shop)
    assert "Touch nothing" in message.out
    assert "- overall-front:" in message.out
    assert "- case-closed:" not in message.out
    (tmp_path / "reply.eml").write_bytes(mail("heel.jpg: heel", {"heel.jpg": SMALL}))
    done = run("triage", "reply.eml", "--call", "call-0001", "--shop", typed_shop)
    assert "3 of 10 frames can be used." in done.out
    done = run("triage", "call-0001", "--came-in", "H-0200", "--shop", typed_shop)
    assert "It came in as H-0200." in done.out
    with OpenShop(typed_shop) as shop:
        assert len(shop.subject("H-0200").state.photographs) == 3
    done = run("triage", "reply.eml", "--call", "call-0001", "--shop", typed_shop)
    assert done.code == 2
    assert "become a dossier" in done.err


def test_nothing_sent_decides_nothing_and_bad_sources_are_named(run: Run, tmp_path: Path) -> None:
    (tmp_path / "empty.eml").write_bytes(mail("I will send them soon.", {}))
    assert run("triage", "empty.eml").code == 3
    (tmp_path / "folder").mkdir()
    for source, match in (
        ("folder", "no picture and no reply"),
        ("nowhere", "neither a folder"),
        ("call-0009", "not a shop"),
    ):
        done = run("triage", source)
        assert done.code == 2, source
        assert match in done.err
    (tmp_path / "no.eml").write_bytes(b"just words\n\nand more")
    assert "not a mail" in run("triage", "no.eml").err


def test_a_mail_within_mails_without_end_is_refused() -> None:
    deep = mail("x", {})
    for _ in range(MOST_DEPTH + 2):
        deep = b"From: a@example.org\nMIME-Version: 1.0\nContent-Type: message/rfc822\n\n" + deep
    with pytest.raises(LimitError):
        read_mail(deep, "deep.eml")
    many = b"From: a@example.org\nContent-Type: multipart/mixed; boundary=b\n\n"
    many += b"--b\nContent-Type: text/plain\n\nx\n" * 300
    with pytest.raises(LimitError):
        read_mail(many, "many.eml")
    bare = (
        b"From: a@example.org\nContent-Type: multipart/mixed; boundary=b\n\n" + b"--b\n\n" * 10**6
    )
    with pytest.raises(LimitError):
        read_mail(bare, "bare.eml")  # a minute and more, where it is taken apart first


@pytest.mark.parametrize(
    "bomb",
    [
        b"Content-Type: multipart/mixed; boundary=b\n\n" + b"--b\n\n" * 1_000_000,
        b"Content-Type: image/jpeg; " + b'a="b";' * 200_000 + b"\n\nx",
        b"Content-Type: image/jpeg;" + b'\n a="b";' * 200_000 + b"\n\nx",
        b"content-disposition: attachment; " + b"a*0=b;" * 200_000 + b"\n\nx",
    ],
    ids=["parts without a header", "one long field", "folded", "disposition"],
)
def test_a_mail_that_would_take_minutes_is_refused_first(bomb: bytes) -> None:
    with pytest.raises(LimitError):
        read_mail(b"From: a@example.org\nMIME-Version: 1.0\n" + bomb, "bomb.eml")


def test_a_name_in_a_mail_is_no_path() -> None:
    found = read_mail(mail("x", {"../../etc/passwd.jpg": SMALL}), "m.eml")
    assert [one.name for one in found.pictures] == ["passwd.jpg"]


def test_damaged_mails_are_read_or_refused_and_nothing_else() -> None:
    whole = mail(REPLY, {"IMG_0031.jpg": b"\xff\xd8\xff" + bytes(200)})
    drawn, read = random.Random(20261201), 0
    for _ in range(300):
        data = bytearray(whole)
        for _ in range(drawn.randint(1, 12)):
            at = drawn.randrange(len(data))
            data[at : at + drawn.randint(0, 4)] = drawn.randbytes(drawn.randint(0, 6))
        with suppress(InputError, LimitError):
            read += bool(read_mail(bytes(data), "m.eml").text)
    assert read > 100
