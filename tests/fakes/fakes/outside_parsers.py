"""The parsers that an owner's mail, a logger's table and a page that was handed out meet."""

import base64
import tempfile
from functools import cache
from pathlib import Path

from fakes.carried_parsers import Parser
from heelstamp.archive.signed import signed_page
from heelstamp.casework.first_call.record import questions_of
from heelstamp.casework.first_call.reply import answers_in, frames_in
from heelstamp.catalogue.bodies.counter import TransitLog
from heelstamp.chronology import Chronology
from heelstamp.media.mail import read_mail
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.first_call import load_first_call
from heelstamp.shop.handed_out import Known, check_file
from heelstamp.shop.shipping import read_journey
from heelstamp.shop.shop_key import shop_key

MAIL = (
    b"""From: owner@example.org
Subject: the guitar
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary="b"

--b
Content-Type: text/plain; charset="utf-8"
Content-Transfer-Encoding: quoted-printable

serial: S10350
IMG_0031.jpg: head-front=20

--b
Content-Type: image/jpeg; name="IMG_0031.jpg"
Content-Transfer-Encoding: base64
Content-Disposition: attachment; filename="IMG_0031.jpg"

"""
    + base64.encodebytes(b"\xff\xd8\xff\xd9" * 8)
    + b"""
--b--
"""
)
LOG = (
    b"Time;Temperature (C);Humidity (%)\n2026-11-20 08:00;21.5;48\n2026-11-20 08:10;19,0;50\n",
    b"Date/Time,Temperature (F)\n11/20/2026 08:00:00,70.1\n11/20/2026 08:10:00,65.0\n",
)
PAGE = b"<!doctype html>\n<html lang='en'><title>a</title><p>b</p></html>\n"


@cache
def maker() -> Chronology:
    """The invented maker."""
    return load_chronology("sallowby-wherry")


@cache
def outside_parsers() -> dict[str, Parser]:
    """All of them by name."""
    asked = load_first_call()
    questions = questions_of(asked, maker(), maker().words)
    log = TransitLog(id="l", file="0" * 64, name="log.csv", room_c=20.0, room_rh=50.0)
    with tempfile.TemporaryDirectory() as made:
        page = signed_page(PAGE, shop_key(Path(made), "Lock").sign)

    def mail(data: bytes) -> None:
        found = read_mail(data, "a.eml")
        answers_in(found.text, questions)
        frames_in(found.text, [one.name for one in found.pictures], asked)

    def handed_out(data: bytes) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "a.html"
            path.write_bytes(data)
            check_file(path, Known())

    return {
        "mail of an owner": Parser(mail, [MAIL]),
        "log of a journey": Parser(lambda data: read_journey(data, log), list(LOG)),
        "page handed out": Parser(handed_out, [page]),
    }
