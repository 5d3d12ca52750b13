"""The environments in which templates run: ours, and those that a shop puts in their place.

All are sandboxed. Whatever a template prints is escaped for its format by the environment, so that
a shop's template cannot forget to.
"""

import re
from pathlib import Path
from types import ModuleType
from typing import Any

from jinja2 import ChoiceLoader, FileSystemLoader, PackageLoader, StrictUndefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import escape
from pydantic import BaseModel

from pipeline import wording
from pipeline.errors import PublishError
from pipeline.times import clock

_MARKDOWN_MARKS = re.compile(r"([\\`*_\[\]<>|~&])")
_MARKDOWN_LINE_START = re.compile(r"^(\d*)(?=[#+\-=.)])")
_MARKDOWN_AUTOLINK = re.compile(r"(?i)(?<=www)(?=\.)|(?<=http)(?=:)|(?<=https)(?=:)")


class _Sandbox(ImmutableSandboxedEnvironment):
    """A sandbox in which nothing of a module, of a class or of a model can be called.

    A module leads to every other one, and a pydantic model unpickles for whoever asks it to.
    """

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Whether a template may have an attribute of what it was given."""
        if isinstance(obj, ModuleType | type):
            return False
        if isinstance(obj, BaseModel) and (callable(value) or attr.startswith("model_")):
            return False
        return super().is_safe_attribute(obj, attr, value)


class Verbatim(str):
    """Text that a template's filter has escaped already."""

    __slots__ = ()


def render(name: str, context: dict[str, Any], templates: Path | None = None) -> str:
    """A template filled in; the file of that name in `templates`, where there is one, is used.

    The end of the name says how values are escaped: `.html.j2`, `.md.j2` or `.txt.j2`.
    Raises PublishError where the template is wrong, naming it.
    """
    environment = _environment(name, templates)
    try:
        return environment.get_template(name).render(context)
    except Exception as error:  # a shop's template can go wrong in any way that code can
        raise PublishError(f"template {name}: {error or type(error).__name__}") from error


def markdown(value: object) -> str:
    """A value as Markdown that shows as it is: no marks, links, HTML or list signs come of it."""
    text = _MARKDOWN_MARKS.sub(r"\\\1", wording.plain(str(value)))
    text = _MARKDOWN_AUTOLINK.sub(r"\\", text)
    return _MARKDOWN_LINE_START.sub(r"\1\\", text)


def _markdown_link(text: object, url: str | None) -> Verbatim:
    return Verbatim(markdown(text) if url is None else f"[{markdown(text)}](<{url}>)")


def _as_markdown(value: object) -> object:
    return value if isinstance(value, Verbatim) else markdown(value)


def _as_plain(value: object) -> object:
    return wording.plain(value) if type(value) is str else value


def _environment(name: str, templates: Path | None) -> _Sandbox:
    loaders = [PackageLoader("pipeline.publish")]
    environment = _Sandbox(
        loader=ChoiceLoader([FileSystemLoader(templates), *loaders] if templates else loaders),
        autoescape=name.endswith(".html.j2"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_as_markdown if name.endswith(".md.j2") else _as_plain,
    )
    environment.filters["link"] = _markdown_link
    environment.globals |= {
        "capitalised": wording.capitalised,
        "clock": clock,
        "grade_word": wording.grade_word,
        "verbatim": escape,
    }
    return environment
