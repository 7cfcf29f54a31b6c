"""How to read a pack that leaves the shop: the text that goes with it, for who knows no journal."""

from __future__ import annotations

GUIDE = """\
How to read this pack
=====================

{title}
{whose}, made by {shop} on {day}.
{banner}
{papers}photographs/      The photographs that outsiders are told of, at full size. They are copies:
                  what the camera wrote into its files is not in them, and where a picture shows
                  what this copy withholds, it is covered in grey. Names are those of the paper.
findings/         What the answer rests on, as JSON: examination.json has what was seen and
                  measured, finding.json the date and the parts as computed from it, doubts.json
                  what does not fit and what the answer hangs on; others where there are any.
                  The date can be computed again: heelstamp date findings/examination.json
linked-art.jsonld The same as the report says, as Linked Art (JSON-LD) for other programs.
check.html        A page that checks this pack in a browser, without a network. A page that came
                  with a pack proves little: take the same one from the shop.

What is not here
----------------
{schedule}The consignor's name, where the instrument is kept, the last characters of its number,
photographs that the shop keeps to recognise it, and words that were not meant for outsiders.
Nothing here is a trace of them: what you hold was computed from what you hold.

How to check that nothing was changed
-------------------------------------
This is a bag (BagIt 1.0, RFC 8493). Beside data/ stands manifest-sha256.txt with a digest of every
file: sha256sum -c manifest-sha256.txt. tagmanifest-sha256.txt has the digest of that list, and
tagmanifest-sha256.txt.p7s is the shop's signature over it (CMS, RFC 5652). It was made with the key

    {key}

(SHA-256 of the public key). Whose key that is, this pack cannot tell you: compare these digits with
those that the shop gives by another way. Then
    heelstamp verify THIS-PACK --key {key}
or check.html in a browser. Whether a later paper supersedes what is here, only the shop knows.

What it does not say
--------------------
Words of probability mean what the paper's last pages say; a range holds the month in nine of ten
such cases if its assumptions hold. Ultraviolet light shows whether a finish is cohesive, never that
it is the first. This is no appraisal and no legal or tax advice.
"""
PAPERS = """\
papers/           What was issued to you, byte for byte, each signed as a whole by the shop. Begin
                  here: the first page of the report tells it in short.
"""
SCHEDULE = """\
The schedule for the insurer among the papers names owner, value and the whole number. All the rest
holds none of this:
"""
WHOSE = {
    "buyer": "A pack for a buyer",
    "insurer": "A pack for an insurer",
    "public": "A pack for everyone",
}


def guide(
    *,
    title: str,
    reader: str,
    shop: str,
    day: str,
    banner: str,
    papers: bool,
    schedule: bool,
    key: str,
) -> str:
    """The text for a reader of `WHOSE`; whether any *papers* go with it, and the *schedule*."""
    return GUIDE.format(
        title=title,
        whose=WHOSE[reader],
        shop=shop,
        day=day,
        banner=f"{banner}\n" if banner else "",
        papers=PAPERS if papers else "",
        schedule=SCHEDULE if schedule else "",
        key=key,
    )
