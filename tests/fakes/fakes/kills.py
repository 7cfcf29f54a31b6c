"""A process that kills itself at the nth thing it asks of the machine, and what must hold then.

Counted are opened, made, renamed and removed files, connections, and statements and commits of the
database; the process goes by SIGKILL before the nth of them is done. Or a timer ends it, in the
middle of whatever it does: of SQLite's own writing, too.
"""

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event

from fakes.databases import take_back_to
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.archive import Verdict
from heelstamp.casework.dossier import append, append_all, open_dossier
from heelstamp.casework.journal_file import verify
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.ports import FileRecord
from heelstamp.shop import create_shop, is_free, is_shop, open_shop
from heelstamp.shop.backup import backup_folder, make_backup, restore_backup
from heelstamp.shop.backup_folder import BackupFolder
from heelstamp.shop.carrying_in import import_folder
from heelstamp.shop.carrying_out import export_dossiers
from heelstamp.shop.files import keep_file
from heelstamp.shop.soundness import shop_faults
from heelstamp.store.versions import NEWEST

TAG = "H-0001"
EARLIER = "0005"
"""Revision of the database that is migrated: the last without a ledger."""
COUNTED = {
    *("open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.listdir"),
    *("sqlite3.connect", "shutil.rmtree", "shutil.copyfile", "os.link"),
}
ACTS = (
    *("write", "upload", "sync", "new", "new here", "migrate", "backup", "restore", "restore here"),
    "import",
)


def decision(number: int) -> dict[str, Any]:
    """Body of a decision."""
    return {"id": f"d{number}", "about": "a", "decided": "b", "reason": "x" * 200}


def stocked_shop(folder: Path, files: int = 3) -> None:
    """Make a shop with a dossier, sales and files."""
    with create_shop(folder, name="Test shop", currency="USD") as shop:
        open_dossier(shop, INSTRUMENT, at=AT, by=BY)
        append_all(shop, TAG, [("decision", decision(n)) for n in range(4)], at=AT, by=BY)
        shop.comparables.add("sallowby-wherry", [(f"s{n}", f'{{"p":{n}}}') for n in range(9)])
        for number in range(files):
            data = bytes([number]) * (5000 + number)
            shop.journals.record_file(FileRecord(shop.files.put(data), len(data), "image/png"))
    (folder / "terms").mkdir()
    (folder / "terms" / "H-0001.toml").write_text("commission = 0.2\n", encoding="utf-8")


def plain(folder: Path) -> BackupFolder:
    """A folder of backups that are not encrypted."""
    return backup_folder(folder, lambda: "")


def prepare(act: str, place: Path) -> None:
    """Lay out what *act* works on."""
    if act.startswith("new"):
        if act == "new here":
            (place / "shop").mkdir()
        return
    stocked_shop(place / "shop")
    if act == "migrate":
        take_back_to(place / "shop" / "heelstamp.db", EARLIER)
    if act in {"backup", "restore", "restore here"}:
        make_backup(place / "shop", plain(place / "backups"))
    if act == "restore here":
        (place / "again").mkdir()
    if act == "import":
        export_dossiers(place / "shop", [TAG], place / "out")
        create_shop(place / "other", name="Other", currency="USD").close()


def perform(act: str, place: Path, told: Callable[[int], None]) -> None:
    """Do *act*; *told* hears of every entry that was acknowledged."""
    if act.startswith("new"):
        create_shop(place / "shop", name="Test shop", currency="USD").close()
    elif act == "write":
        with open_shop(place / "shop") as shop:
            for number in range(4, 10):
                append(shop, TAG, "decision", decision(number), at=AT, by=BY)
                told(number)
    elif act == "upload":
        with open_shop(place / "shop") as shop:
            for number in range(4, 7):
                data = b"picture" * number
                keep_file(shop, data, "image/png")
                append(shop, TAG, "decision", decision(number), at=AT, by=BY)
                told(number)
    elif act == "sync":  # a device sends what it kept, and does not know what arrived
        with open_shop(place / "shop") as shop:
            for number in range(4, 10):
                sent = [NewEntry("decision", decision(number))]
                append_all(shop, TAG, sent, at=AT, by=BY, resent=True)
                told(number)
    elif act == "import":
        import_folder(place / "out", place / "other")
    elif act == "migrate":
        open_shop(place / "shop").close()
    elif act == "backup":
        make_backup(place / "shop", plain(place / "backups"))
    else:
        restore_backup(plain(place / "backups"), place / "again")


def _child(act: str, place: Path, nth: int, after_s: float, send: Any) -> None:
    seen = 0

    def count() -> None:
        nonlocal seen
        seen += 1
        if seen == nth:
            os.kill(os.getpid(), signal.SIGKILL)

    def hook(name: str, arguments: Any) -> None:
        if name in COUNTED and armed:
            count()

    armed = True
    sys.addaudithook(hook)
    event.listen(Engine, "before_cursor_execute", lambda *_: count())
    event.listen(Engine, "commit", lambda *_: count())
    signal.signal(signal.SIGALRM, signal.SIG_DFL)  # which ends a process as SIGKILL does
    signal.setitimer(signal.ITIMER_REAL, after_s)
    perform(act, place, send.send)
    signal.setitimer(signal.ITIMER_REAL, 0)
    armed = False
    send.send(("done", seen))


def run_killed(
    act: str, place: Path, nth: int, after_s: float = 0.0
) -> tuple[list[int], int | None]:
    """Do *act* in a process that goes at its *nth* thing or *after_s* seconds; 0 lets it live.

    Gives the entries that were acknowledged, and how many things it asked for when it lived.
    """
    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(act, place, nth, after_s, send))
    process.start()
    send.close()
    acknowledged: list[int] = []
    total = None
    while True:
        try:
            heard = receive.recv()
        except EOFError:
            break
        if isinstance(heard, tuple):
            total = heard[1]
        else:
            acknowledged.append(heard)
    process.join(60)
    receive.close()
    return acknowledged, total


def faults_after(act: str, place: Path, acknowledged: list[int]) -> list[str]:
    """What does not hold after *act* was cut off; then do it again, and look once more."""
    told = _faults(act, place, acknowledged)
    again = not (act.startswith("new") and is_shop(place / "shop"))
    once = act in ("write", "upload")  # done again they would be other entries
    if again and not (act.startswith("restore") and is_shop(place / "again")) and not once:
        perform(act, place, lambda _: None)
        told += [f"again: {one}" for one in _faults(act, place, acknowledged)]
    return told


def _faults(act: str, place: Path, acknowledged: list[int]) -> list[str]:
    shop = place / "shop"
    told: list[str] = []
    for folder in (shop, place / "again", place / "other"):
        if is_shop(folder):
            told += [f"{folder.name}: {one.where}, {one.message}" for one in shop_faults(folder)]
        elif not is_free(folder):
            told.append(f"{folder.name} is neither a shop nor free")
    if is_shop(shop) and not act.startswith("new"):
        with open_shop(shop) as opened:
            if verify(opened, TAG).verdict is not Verdict.SOUND:
                told.append("the journal is not sound")
            lines = b"".join(opened.journals.lines(TAG))
            told += [f"entry d{n} is lost" for n in acknowledged if f'"d{n}"'.encode() not in lines]
            twice = [n for n in range(4, 10) if lines.count(f'"id":"d{n}"'.encode()) > 1]
            told += [f"entry d{n} stands twice" for n in twice]
            told += [] if len(opened.comparables.rows("sallowby-wherry")) == 9 else ["sales lost"]
    if (place / "backups").is_dir():
        folder = plain(place / "backups")
        told += [fault for name in folder.names() for fault in folder.faults(name)]
    for copy in shop.glob(f"heelstamp.db.before-{NEWEST}*"):
        from heelstamp.store.engine import reading_engine
        from heelstamp.store.versions import version_of

        engine = reading_engine(copy)
        if version_of(engine) != EARLIER:
            told.append(f"{copy.name} is not of the version before")
        engine.dispose()
    return told
