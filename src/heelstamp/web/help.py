"""Help beside terms: ``term('period-correct')`` in a template gives a "?" that opens its meaning.

The popover is the browser's own (HTML, the popover attribute): it opens without a script, closes by
Escape or a press elsewhere, and gives the focus back. A browser that does not know it shows the
meaning in the sentence, which is longer and loses nothing.
"""

from __future__ import annotations

from itertools import count

from jinja2 import Environment
from markupsafe import Markup

from heelstamp.casework.glossary import find_term
from heelstamp.reference.glossary import load_glossary

_HELP = """<span class="term"><button type="button" class="ask" popovertarget="{{ id }}" \
aria-label="What does “{{ term.name }}” mean?">?</button><span popover id="{{ id }}" class="told" \
role="note" aria-label="{{ term.name }}"><b>{{ term.name }}</b> {{ term.text }} \
<small>{{ term.source }}</small><a href="/terms#{{ term.key }}">All terms</a></span></span>"""
_numbers = count(1)  # an id must be the only one of its page, and parts of pages come one by one


def add_help(environment: Environment) -> None:
    """Add the function ``term`` to templates.

    In a template, beside the word it explains and never inside a link, button or summary::

        <p>Range of completion {{ term('completion') }}</p>

    A name that the glossary does not hold is an error, so that no template asks in vain.
    """
    shown = environment.from_string(_HELP)

    def term(name: str) -> Markup:
        found = find_term(name, load_glossary())
        text = shown.render(term=found, id=f"told-{found.key}-{next(_numbers)}")
        return Markup(text)  # noqa: S704 - escaped where it was filled in

    environment.globals["term"] = term
