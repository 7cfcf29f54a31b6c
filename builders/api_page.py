"""Write docs/api.md from the public names of the engines; ``--check`` only compares.

    python builders/api_page.py [--check]

Of each name in ``__all__``: how it is written in the source (arguments of a function, fields of a
class, what a constant or an alias is set to), and the first paragraph of its docstring. The source
is read, not run, so the page is the same under every Python.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import sys
from dataclasses import dataclass
from pathlib import Path

PAGE = Path(__file__).resolve().parent.parent / "docs" / "api.md"
ENGINES = (
    "marks",
    "dating",
    "luminescence",
    "mechanics",
    "acoustics",
    "electrics",
    "valuation",
    "units",
)
WIDE = 100
LONGEST_VALUE = 120
HEAD = """# Library

What each engine offers to import, made from its source and docstrings by
`builders/api_page.py`: how it is written, and what it is or returns. `help(...)` tells the rest:
shapes, units, errors, sources. All errors of bad input are subclasses of
`heelstamp.errors.HeelstampError`. The package is typed (`py.typed`). A name that is not on this
page may change without notice.
"""


def paragraph(text: str | None) -> str:
    """Return the first paragraph of a docstring, on one line, in Markdown."""
    first = inspect.cleandoc(text or "").split("\n\n", maxsplit=1)[0]
    return " ".join(first.split()).replace("``", "`")


@dataclass(frozen=True)
class Definition:
    """Where a public name is made: a function, a class, or an assignment at the top of a module."""

    name: str
    source: str
    node: ast.stmt
    after: ast.stmt

    def text(self, node: ast.AST | None) -> str:
        """Return the source of a node, on one line."""
        found = ast.get_source_segment(self.source, node) if node is not None else None
        return " ".join((found or "").split())

    def shown(self) -> str:
        """Return how the name is written."""
        if isinstance(self.node, ast.FunctionDef):
            return self.function(self.node, self.name)
        if isinstance(self.node, ast.ClassDef):
            return self.class_(self.node)
        value = self.text(getattr(self.node, "value", None))
        return f"{self.name} = {value if len(value) <= LONGEST_VALUE else '…'}"

    def told(self) -> str:
        """Return the first paragraph of the docstring; of an assignment, of the string below it."""
        if isinstance(self.node, ast.FunctionDef | ast.ClassDef):
            return paragraph(ast.get_docstring(self.node))
        told = self.after.value if isinstance(self.after, ast.Expr) else None
        return paragraph(str(told.value)) if isinstance(told, ast.Constant) else ""

    def function(self, node: ast.FunctionDef, name: str, *, own: int = 0) -> str:
        """Return name, arguments and result; the first *own* arguments are left out."""
        given = node.args
        plain = [*given.posonlyargs, *given.args]
        gap: list[ast.expr | None] = [None]
        defaults = gap * (len(plain) - len(given.defaults)) + [*given.defaults]
        told = [self.argument(*one) for one in zip(plain, defaults, strict=True)][own:]
        if given.vararg or given.kwonlyargs:
            told.append("*" + (self.argument(given.vararg) if given.vararg else ""))
        told += [
            self.argument(*one) for one in zip(given.kwonlyargs, given.kw_defaults, strict=True)
        ]
        result = f" -> {self.text(node.returns)}" if node.returns and name != "__init__" else ""
        line = f"{name}({', '.join(told)}){result}"
        if len(line) <= WIDE:
            return line
        return f"{name}(\n" + "".join(f"    {one},\n" for one in told) + f"){result}"

    def argument(self, one: ast.arg, default: ast.expr | None = None) -> str:
        """Return one argument with its type and default."""
        return self.text(one) + (f" = {self.text(default)}" if default is not None else "")

    def class_(self, node: ast.ClassDef) -> str:
        """Return the class with its fields, or with the arguments that make one."""
        bases = ", ".join(map(self.text, node.bases))
        head = f"class {self.name}" + (f"({bases})" if bases else "")
        for one in node.body:
            if isinstance(one, ast.FunctionDef) and one.name == "__init__":
                return head + "\n" + self.function(one, self.name, own=1)
        fields = [
            self.text(one)
            for one in node.body
            if isinstance(one, ast.AnnAssign | ast.Assign)
            and not any(name.startswith("_") for name in _names(one))
        ]
        return "\n    ".join([head + (":" if fields else ""), *fields])


def _names(node: ast.stmt) -> set[str]:
    """Return what a statement at the top of a module makes."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return {node.name}
    if isinstance(node, ast.Assign):
        targets: list[ast.expr] = node.targets
    elif isinstance(node, ast.AnnAssign):
        targets = [node.target]
    else:
        return set()
    flat = [part for one in targets for part in (one.elts if isinstance(one, ast.Tuple) else [one])]
    return {one.id for one in flat if isinstance(one, ast.Name)}


def _made(module: str, name: str) -> Definition:
    """Find where *name* is made, through modules that only pass it on."""
    source = inspect.getsource(importlib.import_module(module))
    body = ast.parse(source).body
    for node, after in zip(body, [*body[1:], ast.Pass()], strict=True):
        if isinstance(node, ast.ImportFrom) and name in {one.name for one in node.names}:
            return _made(str(node.module), name)
        if name in _names(node):
            return Definition(name, source, node, after)
    raise LookupError(f"{module} does not make {name}")


def page() -> str:
    """Return the whole page."""
    parts = [HEAD]
    for engine in ENGINES:
        package = importlib.import_module(f"heelstamp.{engine}")
        parts.append(f"\n## heelstamp.{engine}\n\n{paragraph(package.__doc__)}\n")
        for name in package.__all__:
            made = _made(package.__name__, name)
            told = made.told()
            parts.append(f"\n```py\n{made.shown()}\n```\n" + (f"\n{told}\n" if told else ""))
    return "".join(parts)


def main(arguments: list[str]) -> int:
    """Write or check the page; return a process exit code."""
    text = page()
    if "--check" not in arguments:
        PAGE.write_text(text, "utf-8")
    elif not PAGE.exists() or PAGE.read_text("utf-8") != text:
        print(f"{PAGE.name} lags behind the docstrings. Run: python builders/api_page.py")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
