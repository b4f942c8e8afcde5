"""Templates turn a page's plain values into its bytes.

A keeper's own ``site_templates/`` come first; what came with the program stays reachable as ``shipped/…``, so
that a template of the keeper's can extend the one it takes the place of.
"""

from __future__ import annotations

import hashlib
import json
import marshal
import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from journal.site import drawing, pictures, prose
from journal.site.draughtsman import chart_key, drawn
from journal.site.memory import Memory, Recollection, key_of, plain, remembered
from journal.site.policy import policy
from journal.site.walking import files_below, is_hidden
from journal.site.wording import isolated

if TYPE_CHECKING:
    import jinja2
    from markupsafe import Markup

STYLE = "style.css"
MARK = "mark.svg"


class TemplateProblem(ValueError):
    """A template that cannot be used; the message is a sentence with file and line."""


class Page(NamedTuple):
    """One file of the site: its name, and either a template with a view of plain values, or its bytes.

    Where ``rests_on`` is a digest of all that the view is made of, the view need not be there.
    """

    name: str
    template: str = ""
    view: Mapping[str, Any] | None = None
    data: bytes = b""
    rests_on: str = ""
    make: Callable[[], Mapping[str, Any]] | None = None

    @classmethod
    def later(cls, name: str, template: str, rests_on: str, make: Callable[[], Mapping[str, Any]]) -> Page:
        """Give a page whose view is made only if need be; ``rests_on`` is a digest of all it is made of."""
        return cls(name, template, rests_on=rests_on, make=make)

    def viewed(self) -> Page:
        """Give a page with its view made."""
        return self if self.make is None else Page(self.name, self.template, self.make(), b"", self.rests_on)


class Templates:
    """The templates of one site, from ``folders`` in the order to look through them, the shipped last."""

    def __init__(self, folders: Sequence[Path]) -> None:
        self.folders = [folder for folder in folders if folder.is_dir()]
        self.fingerprint = _fingerprint(self.folders)
        self._memory: Memory = Recollection()
        self._environment: jinja2.Environment | None = None
        self._common: dict[str, Any] = {}
        self._written: dict[int, tuple[Mapping[str, str], str]] = {}
        self.words: dict[str, str] = {}  # the HTML of stretches of words that is made already

    def render(self, page: Page, memory: Memory | None = None, key: str | None = None) -> bytes:
        """Give a page's bytes; ``key`` is the page's, where it is known already.  Raises TemplateProblem."""
        if page.view is None and page.make is None:
            return page.data
        kept = self._memory if memory is None else memory
        return remembered(kept, key or self.key(page), lambda: self.made(page, kept))

    def load(self, template: str, memory: Memory) -> None:
        """Have a template read, if it can be; what is wrong with it is told when it is used."""
        self._memory = memory
        with suppress(Exception):
            self._prepared().get_template(template)

    def key(self, page: Page) -> str:
        """Name a page's bytes by all that they rest on."""
        if page.rests_on:
            return key_of("page", self.fingerprint, page.template, page.name, page.rests_on)
        rests_on = page.data if page.view is None else _as_bytes(page.view)
        return key_of("page", self.fingerprint, page.template, rests_on)

    def made(self, page: Page, memory: Memory) -> bytes:
        """Give a page's bytes, made anew with what is remembered of its parts.  Raises TemplateProblem."""
        import jinja2

        self._memory = memory
        try:
            environment = self._prepared()
            view = dict(page.make() if page.make is not None else page.view or {})
            described = str(_ld_json(view["dataset"])) if "dataset" in view else ""
            allowed = policy(
                str(self._common["style"]), described, shows_pictures=bool(view.get("shows_pictures"))
            )
            text = environment.get_template(page.template).render(self._common, csp=allowed, **view)
        except jinja2.TemplateNotFound as fault:
            raise TemplateProblem(
                f"there is no template {fault.name} (asked for by {page.template}): see the names in the "
                "program's own site_templates/"
            ) from None
        except jinja2.TemplateSyntaxError as fault:
            raise TemplateProblem(
                f"{fault.filename or fault.name}:{fault.lineno}: the template cannot be read: {fault.message}"
            ) from None
        except Exception as fault:  # noqa: BLE001 - a template is the keeper's code: whatever it does wrong is told with its line
            raise TemplateProblem(
                f"{_where(fault, page.template)}: the template cannot be filled: {fault}"
            ) from None
        finally:
            self._written.clear()
        return text.encode()

    def _prepared(self) -> jinja2.Environment:
        if self._environment is None:
            import jinja2
            from markupsafe import Markup

            loaders: list[jinja2.BaseLoader] = [_visible_files(folder) for folder in self.folders]
            shipped = jinja2.PrefixLoader({"shipped": loaders[-1]}) if loaders else jinja2.DictLoader({})
            environment = jinja2.Environment(
                loader=jinja2.ChoiceLoader([*loaders, shipped]),
                autoescape=True,
                undefined=jinja2.StrictUndefined,
                keep_trailing_newline=False,
                auto_reload=False,
                lstrip_blocks=False,
                bytecode_cache=_compiled_before(lambda: self._memory),
            )
            environment.template_class = _with_quick_escape(environment.template_class)
            environment.getattr = _keys_first(environment.getattr)  # type: ignore[assignment]  # see there
            environment.filters.update(
                drawn=self._drawn,
                swatch=_swatch,
                prose=self._prose,
                ld_json=_ld_json,
                links=self._links,
                lines=_lines,
                isolated=isolated,
            )
            self._common = {"style": Markup(self._file(STYLE)), "mark": Markup(self._file(MARK))}  # noqa: S704 - HTML made here
            self._environment = environment
        return self._environment

    def _file(self, name: str) -> str:
        for folder in self.folders:
            if (folder / name).is_file():
                return _tight((folder / name).read_text(encoding="utf-8"), name)
        raise TemplateProblem(f"there is no {name} in any of the template folders")

    def _links(self, listed: Sequence[Mapping[str, str]]) -> Markup:
        """Write links to lines: half of what a month's page holds, and each on it some three times."""
        from markupsafe import Markup

        escape = _quick_escape()
        written = []
        for one in listed:
            found = self._written.get(id(one))
            if found is None:
                html = (
                    f'<a href="{escape(one["href"])}">{escape(one["words"])}'
                    f'<span class="unseen">{escape(one["rest"])}</span></a>'
                )
                found = self._written[id(one)] = (one, html)
            written.append(found[1])
        return Markup(" ".join(written))  # noqa: S704 - HTML made here

    def _drawn(self, chart: Mapping[str, Any]) -> Markup:
        """Draw a chart's data, or remember how it was drawn."""
        from markupsafe import Markup

        data = remembered(self._memory, chart_key(chart), lambda: drawn(chart))
        return Markup(data.decode())  # noqa: S704 - HTML made here

    def _prose(self, block: Mapping[str, Any]) -> Markup:
        """Render a stretch of an entry's words, unless that is done."""
        from markupsafe import Markup

        made = None if block["pictures"] else self.words.get(block["words"])
        if made is None:
            made = prose.render(block["words"], pictures.shown(block["pictures"]))
        return Markup(made)  # noqa: S704 - HTML made here


def _as_bytes(view: Mapping[str, Any]) -> bytes:
    """Write a view so that equal ones give equal bytes; ``marshal`` is quicker, and can write nearly all."""
    try:
        return marshal.dumps(view, 2)  # type: ignore[arg-type]  # it says itself what it cannot write
    except ValueError:
        return plain(view).encode("utf-8", "surrogatepass")


def _lines(listed: Sequence[Mapping[str, Any]]) -> Markup:
    """Write an entry's lines as items of a list; by a template each of them costs three times as much."""
    from markupsafe import Markup

    escape = _quick_escape()
    written = []
    for line in listed:
        closed = ' class="closed"' if line["is_closed"] else ""
        html = f'<li id="{line["id"]}"><span{closed}>{escape(line["text"])}</span>'
        if line["beside"]:
            html += f'<span class="other">{escape(line["beside"])}</span>'
        if line["path"]:
            html += f'<span class="path">{escape(line["path"])}</span>'
        written.append(f"{html}</li>")
    return Markup("\n".join(written))  # noqa: S704 - HTML made here


def _swatch(key: Mapping[str, Any], identity: str, number: int) -> Markup:
    """Draw the sample of a fill beside its words in a chart's key."""
    from markupsafe import Markup

    return Markup(drawing.swatch(key["fill"], f"{identity}-k{number}"))  # noqa: S704 - HTML made here


def _ld_json(value: Mapping[str, Any]) -> Markup:
    """Write plain values as JSON that may stand in a script element."""
    from markupsafe import Markup

    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))  # noqa: S704 - HTML made here


def _tight(text: str, name: str) -> str:
    """Take comments, indents and line ends out of the style sheet; what stands in a page should be light."""
    import re

    if not name.endswith(".css"):
        return text.strip()
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    text = re.sub(r"\s+", " ", text)
    return re.sub(r" ?([{};,>]) ?", r"\1", text).replace(": ", ":").replace(";}", "}").strip()


def _where(fault: BaseException, template: str) -> str:
    """Give the file and line of a template at which a fault arose."""
    place, traceback = template, fault.__traceback__
    while traceback is not None:
        file = traceback.tb_frame.f_code.co_filename
        if file.endswith((".html", ".xml", ".svg")):
            place = f"{Path(file).name}:{traceback.tb_lineno}"
        traceback = traceback.tb_next
    return place


def _keys_first(otherwise: Callable[[Any, str], Any]) -> Callable[[Any, str], Any]:
    """Look a name up among a view's keys before its attributes: it is nearly always a key."""

    def look_up(value: Any, name: str) -> Any:  # noqa: ANN401 - a template's value is anything
        if value.__class__ is dict:
            try:
                return value[name]
            except KeyError:
                pass
        return otherwise(value, name)

    return look_up


@cache
def _quick_escape() -> Callable[[Any], str]:
    """Give what escapes a value for HTML without marking the result as such."""
    import markupsafe

    inner: Callable[[str], str] = getattr(markupsafe, "_escape_inner", markupsafe.escape)

    def escape(value: Any) -> str:  # noqa: ANN401 - a template's value is anything
        if value.__class__ is str:
            return inner(value)
        return value if value.__class__ is markupsafe.Markup else markupsafe.escape(value)

    return escape


def _with_quick_escape(kind: type[jinja2.Template]) -> type[jinja2.Template]:
    """Have templates escape what they put out without marking each piece as HTML: it is joined at once."""

    class Quick(kind):  # type: ignore[misc,valid-type]  # a class given as a value
        @classmethod
        def from_code(cls, *given: Any, **named: Any) -> jinja2.Template:  # noqa: ANN401 - handed on
            template: jinja2.Template = super().from_code(*given, **named)
            template.root_render_func.__globals__["escape"] = _quick_escape()
            return template

    return Quick


def _compiled_before(memory: Callable[[], Memory]) -> jinja2.BytecodeCache:
    """Keep compiled templates in whatever memory is in use: compiling them takes longer than a page does."""
    import jinja2

    class Compiled(jinja2.BytecodeCache):
        def load_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
            data = memory().get(self.name_of(bucket))
            if data is not None:
                bucket.bytecode_from_string(data)

        def dump_bytecode(self, bucket: jinja2.bccache.Bucket) -> None:
            memory().put(self.name_of(bucket), bucket.bytecode_to_string())

        @staticmethod
        def name_of(bucket: jinja2.bccache.Bucket) -> str:
            return f"compiled {bucket.key} {bucket.checksum}"

    return Compiled()


def _visible_files(folder: Path) -> jinja2.BaseLoader:
    """Load templates from a folder, but no hidden ones: nobody looks whether those have changed."""
    import jinja2

    class Visible(jinja2.FileSystemLoader):
        def get_source(
            self, environment: jinja2.Environment, template: str
        ) -> tuple[str, str, Callable[[], bool]]:
            if is_hidden(template):
                raise TemplateProblem(
                    f"hidden files are not used, such as {template}: name it, and the folders it lies in, "
                    "without a dot in front"
                )
            return super().get_source(environment, template)

    return Visible(folder)


def _fingerprint(folders: Sequence[Path]) -> str:
    """Name the content of all template files, whatever folder of a machine they lie in."""
    digest = hashlib.blake2b(digest_size=16)
    for number, folder in enumerate(folders):
        for file in map(Path, files_below(os.fspath(folder), through_links=True)):
            if file.is_file():
                digest.update(f"{number} {file.relative_to(folder).as_posix()}\0".encode())
                digest.update(file.read_bytes())
    return digest.hexdigest()
