"""Every act of the pages as an operation for programs: the form of the page, sent as JSON.

A page's form and what it does are written once, in its screen. From each the operation is made:
``POST /api/acts`` and the path of the form. What is sent is the form's own model and ``by``, as
JSON, or as the parts of a form where it holds a file; what comes back is which entries were made
and, where work was begun, its key. So a form that a screen gets is there for programs too, under
the same rights. `APART` names those that are not, and why.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Annotated, Any, get_args, get_type_hints

from fastapi import APIRouter, Body, Form, Request, Response, UploadFile
from fastapi.responses import FileResponse
from fastapi.routing import APIRoute
from pydantic import BaseModel, create_model

from heelstamp.archive import read_json
from heelstamp.web.api.described import REFUSALS
from heelstamp.web.api.forms import Act, By, Tag
from heelstamp.web.api.once import Once
from heelstamp.web.at_bench import Bench
from heelstamp.web.permits import ACTS
from heelstamp.web.rendering import hand_of, shop_of
from heelstamp.web.signed import signed_by

APART: Mapping[str, str] = {
    "/hand": "belongs to one device",
    "/light": "belongs to one device",
    "/lengths": "belongs to one device",
    "/hide": "belongs to one device",
    "/begin": "a page of a new shop",
    "/new": "POST /api/dossiers",
    "/spreadsheet": "looked at on a page; programs send the same tables by POST /api/acts/maker/"
    "{name}/census and /api/acts/dossier/{tag}/money/comparables, instruments by /api/dossiers",
    "/webhooks": "who is told is the owner's to say, not a program's",
    "/calls/{call}/answers": "its questions are those of the shop's table; they are no fixed form",
    "/dossier/{tag}/listing/own": "answered on its page; nothing is kept",
    "/dossier/{tag}/reports/check": "answered on its page; heelstamp verify does it on a machine",
    "/dossier/{tag}/undo": "takes back what a hand entered last, whoever used that hand: programs "
    "send the entry correction, which names what it corrects",
}
"""Paths of forms, or what they begin with, that programs do not send, and what they do instead."""
_WORK = re.compile(r"/maker/[^/]+/work/([0-9a-f]{24})")


def apart(path: str) -> str:
    """Why a form is not sent by programs; empty where it is."""
    steps = path.split("/")
    found = (one for one in APART if steps[: one.count("/") + 1] == one.split("/"))
    return next((APART[one] for one in found), "")


def acts_of(screens: Iterable[APIRouter]) -> APIRouter:
    """The operations of all forms of some screens."""
    router = APIRouter(prefix=ACTS, responses=REFUSALS, route_class=Once, tags=["acts"])
    for route in _forms(screens):
        router.add_api_route(
            route.path,
            _operation(route),
            methods=["POST"],
            name=f"act_{_name(route.path)}",
            response_model=Act,
            description=inspect.getdoc(route.endpoint),
        )
    return router


def _forms(screens: Iterable[APIRouter]) -> Iterator[APIRoute]:
    for router in screens:
        for route in router.routes:
            if (
                isinstance(route, APIRoute)
                and "POST" in (route.methods or ())
                and not apart(route.path)
            ):
                yield route


def _name(path: str) -> str:
    """The name of an operation: ``sale_step`` for ``/dossier/{tag}/sale/step``."""
    steps = [one for one in path.split("/") if one and not one.startswith("{")]
    return "_".join(steps[1:] if steps[0] == "dossier" else steps).replace("-", "_")


def _operation(route: APIRoute) -> Callable[..., Any]:
    """The operation of one form: its arguments, with JSON in the place of the form."""
    endpoint = route.endpoint
    hints = get_type_hints(endpoint, include_extras=True)
    form: type[BaseModel] | None = None
    wanted = [_argument("request", Request), _argument("tag", Tag)]
    at_bench = "here" in hints
    if not at_bench:
        wanted.pop()
    for name, one in inspect.signature(endpoint).parameters.items():
        if name in {"here", "request"}:
            continue
        if name == "told":
            form = get_args(hints[name])[0]
        else:
            wanted.append(one.replace(annotation=hints[name], kind=one.KEYWORD_ONLY))
    signs = "hand" if form and "by" in form.model_fields else "by"  # who signs a work plan is told
    more: dict[str, Any] = {signs: (By, ...)}
    sent: type[BaseModel] = create_model(
        _name(route.path).title().replace("_", "") + "Act",
        __base__=form or BaseModel,
        __doc__=inspect.getdoc(form) if form else "Who does it.",
        **more,
    )
    wanted.append(_argument("told", Annotated[sent, _place(sent)]))

    def act(**given: Any) -> Any:
        request, told = given.pop("request"), given.pop("told")
        request.state.signs = signed_by(request, getattr(told, signs))
        if form is not None:
            named = {key: getattr(told, key) for key in form.model_fields}
            given["told"] = form.model_construct(told.model_fields_set & set(named), **named)
        if not at_bench:
            return _answer(request, "", 0, endpoint(request, **given))
        tag = given.pop("tag")
        before = shop_of(request).journals.head(tag)
        if before is None:
            shop_of(request).subject(tag)  # refused in its own words
        done = endpoint(Bench(request, tag), **given)
        return _answer(request, tag, 0 if before is None else before.seq, done)

    act.__signature__ = inspect.Signature(wanted)  # type: ignore[attr-defined]
    act.__name__ = f"act_{_name(route.path)}"
    return act


def _argument(name: str, annotation: Any) -> inspect.Parameter:
    return inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, annotation=annotation)


def _place(sent: type[BaseModel]) -> Any:
    files = any(
        UploadFile in (one.annotation, *get_args(one.annotation), *_within(one.annotation))
        for one in sent.model_fields.values()
    )
    return Form(media_type="multipart/form-data") if files else Body()


def _within(annotation: Any) -> tuple[Any, ...]:
    return tuple(inner for one in get_args(annotation) for inner in get_args(one))


def _answer(request: Request, tag: str, before: int, done: Response) -> Any:
    """What came of an act: a file as it is; else the entries made, and the work begun."""
    kind = done.headers.get("content-type", "")
    if isinstance(done, FileResponse) or (kind and not kind.startswith("text/html")):
        return done
    hand, made = str(hand_of(request)), []
    if tag:
        lines = (read_json(line) for line in shop_of(request).journals.lines(tag)[before:])
        made = [one for one in lines if one["by"] == hand]
    work = _WORK.match(done.headers.get("location", ""))
    return Act.model_validate({"entries": made, "work": None if work is None else work[1]})
