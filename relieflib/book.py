"""The set as a book to read: pages that open from a file, with a search, without code.

Pictures and numbers are those that the notebooks were stored with; nothing is run. Equations become
MathML, which browsers set without a script, so that a page asks nothing of a network.

Needs the extra `book`: Sphinx, myst-nb, sphinx-book-theme, latex2mathml.
"""

import copy
import html
import io
import json
import re
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

from relieflib import __version__
from relieflib.asking.kept import Who
from relieflib.asking.question import Choice, Worked, asked
from relieflib.errors import InputError, need
from relieflib.questions import bank, questions_of, warm_up_of
from relieflib.symbols import shown
from relieflib.texts import CAUTION
from relieflib.the_set import fresh_folder, notebook_folder
from relieflib.working import as_html

NEEDS = {"sphinx": "Sphinx", "myst_nb": "myst-nb", "sphinx_book_theme": "sphinx-book-theme",
         "latex2mathml.converter": "latex2mathml"}  # fmt: skip
ASKS = re.compile(r'^(ask|warm_up)\("(\d\d)"\)$', re.M)
MATH = re.compile(r"\$([^$]+)\$")
PARTS = {"0": "Start", "1": "Causes on the process side", "2": "More causes",
         "3": "Area and orifice", "4": "Lines", "5": "Summary and check",
         "6": "After the valve", "7": "All of it mixed"}  # fmt: skip
SETTINGS = {
    "project": "Relief-valve workbooks", "html_title": "Relief-valve workbooks",
    "author": "", "release": __version__, "language": "en",
    "extensions": ["myst_nb", "relieflib.book"],
    "html_theme": "sphinx_book_theme", "html_math_renderer": "mathml",
    "html_theme_options": {"use_download_button": False, "use_fullscreen_button": False,
                           "show_toc_level": 2, "pygments_light_style": "tango"},
    "html_copy_source": False, "html_show_copyright": False, "html_show_sphinx": False,
    "nb_execution_mode": "off", "nb_merge_streams": True, "nb_remove_code_source": True,
    "nb_ipywidgets_js": {},
    "myst_enable_extensions": ["dollarmath"], "myst_heading_anchors": 3,
    "myst_heading_slug_func": "relieflib.book.slug",
}  # fmt: skip
STYLE = """
math { font-family: "Latin Modern Math", "STIX Two Math", "Cambria Math", math; }
.output table td, .output table th { padding: .15rem .5rem; vertical-align: top; }
.output table { font-size: .9em; }
"""


@dataclass(frozen=True)
class Book:
    """A book made: its first page, how many pages of notebooks, and what Sphinx warned of."""

    page: Path
    pages: int
    warned: list


def make(out, notebooks=None):
    """Write the set as pages to read.

    Parameters: out, a new or empty folder; notebooks, their folder, by default this copy's.
    Returns `Book`. Raises InputError where a package lacks, the folder holds files, or there are
    no notebooks.
    """
    for package, name in NEEDS.items():
        _needed(package, name)
    source = notebook_folder(notebooks)
    out = fresh_folder(out)
    with tempfile.TemporaryDirectory() as folder:
        paths = sorted(source.glob("*.ipynb"))
        write_pages(paths, Path(folder))
        warned = _built(Path(folder), out)
    for left in ("objects.inv", ".buildinfo"):
        (out / left).unlink(missing_ok=True)
    return Book(out / "index.html", len(paths), warned)


def _needed(package, name):
    try:
        need(package)
    except InputError:
        raise InputError(f'needs {name}, which this copy lacks: pip install -e ".[book]"') from None


def write_pages(paths, folder):
    """Write what Sphinx reads: a page of each notebook, the first page, the style.

    Parameters: paths of notebooks; folder, Path. Returns None.
    """
    for path in paths:
        text = json.dumps(page(json.loads(path.read_text(encoding="utf-8"))), ensure_ascii=False)
        (folder / path.name).write_text(text, encoding="utf-8")
    (folder / "index.md").write_text(first_page([p.stem for p in paths]), encoding="utf-8")
    (folder / "_static").mkdir()
    (folder / "_static" / "book.css").write_text(STYLE, encoding="utf-8")


def first_page(names):
    """The first page in Markdown: what this is, the caution, the parts with their notebooks."""
    text = (
        "# Relief-valve workbooks\n\nA reading edition: words, pictures and numbers as they were "
        "stored. Nothing moves here. To move a panel, answer a question or check a sheet of your "
        f"own, open the notebook of the same number.\n\n{CAUTION}\n"
    )
    listed = {part: [n for n in names if n[0] == digit] for digit, part in PARTS.items()}
    listed["Words"] = [n for n in names if not n[0].isdigit()]
    for part, own in listed.items():
        if own:
            text += f"\n```{{toctree}}\n:caption: {part}\n:maxdepth: 1\n\n"
            text += "\n".join(own) + "\n```\n"
    return text


def page(notebook):
    """A notebook as the book shows it: questions as text, equations set, pictures with words.

    Parameters: notebook, dict of a stored .ipynb, left as it is. Returns a dict.
    """
    cells = []
    for cell in copy.deepcopy(notebook["cells"]):
        cells += _cells(cell) if cell["cell_type"] == "code" else [cell]
    return notebook | {"cells": cells}


def _cells(cell):
    """The cells that stand for one of code."""
    question = ASKS.search("".join(cell["source"]))
    if question and question[2] in bank():
        return [_markdown(cell["id"], questions_text(question[2], question[1] == "warm_up"))]
    found = []
    for number, output in enumerate(cell["outputs"]):
        one = cell | {"outputs": [output], "metadata": {}, "id": f"{cell['id']}-{number}"}
        data = output.get("data", {})
        if "image/png" in data:
            alt = output.get("metadata", {}).get("image/png", {}).get("alt", "")
            one["metadata"] = {"mystnb": {"image": {"alt": " ".join(alt.split())}}}
        if "text/html" in data:
            data["text/html"] = with_mathml("".join(data["text/html"]))
        found.append(one)
    return found


def _markdown(name, text):
    return {"cell_type": "markdown", "id": name, "metadata": {}, "source": text}


def with_mathml(text):
    """HTML with its `$...$` set as MathML.

    >>> with_mathml("of 5 psi: no equation")
    'of 5 psi: no equation'
    """
    return MATH.sub(lambda found: mathml(html.unescape(found[1])), text)


def mathml(latex, display="inline"):
    """LaTeX as MathML, for browsers to set without a script."""
    return need("latex2mathml.converter").convert(latex, display=display)


def questions_text(book, warm_up=False):
    """What a notebook asks someone who works alone, in Markdown, without any answer.

    Parameters: book, its number, such as '10'; warm_up, True for the two that it begins with.
    Returns str.
    """
    nobody = Who()
    own = [asked(one, book, nobody) for one in questions_of(book)]
    found = warm_up_of(book, nobody) if warm_up else own
    head = "Warm-up" if warm_up else "Question"
    return "\n\n".join(_question(one, f"{head} {n}") for n, one in enumerate(found, start=1))


def _question(one, title):
    text = f"**{title}.** {_plain(one.text)}"
    if isinstance(one.question, Worked):
        note = f"\n\n*See:* {_plain(one.question.note)}" if one.question.note else ""
        working = with_mathml(as_html(one.working))
        return f"{text} Worked:\n\n<div class='output'>{working}</div>{note}"
    if isinstance(one.question, Choice):
        options = (f"- ({x}) {_plain(w)}" for x, w in zip("abcdefgh", one.options))
        return text + "\n\n" + "\n".join(options)
    given = "; ".join(f"{s.symbol} = {shown(s.name, s.value)}" for s in one.given)
    return text + (f" Given on the way: {_plain(given)}." if given else "")


def _plain(text):
    """Words that Markdown takes as they are."""
    return re.sub(r"([\\`*_{}\[\]<>#$|])", r"\\\1", text)


def _built(source, out):
    """Run Sphinx on a folder. Returns its warnings, a list of str."""
    from sphinx.application import Sphinx
    from sphinx.util.docutils import docutils_namespace, patch_docutils

    warned, quiet = io.StringIO(), io.StringIO()
    static = {"html_static_path": [str(source / "_static")], "html_css_files": ["book.css"]}
    with redirect_stdout(quiet), redirect_stderr(quiet):
        with patch_docutils(), docutils_namespace():
            app = Sphinx(
                source, None, out, source / "_doctrees", "html", SETTINGS | static, status=None,
                warning=warned,
            )  # fmt: skip
            app.build()
    text = re.sub(r"\x1b\[[0-9;]*m", "", warned.getvalue())
    return [line.replace(str(source), "").strip() for line in text.splitlines() if line.strip()]


def slug(heading):
    """The anchor of a heading as JupyterLab names it, for which the notebooks' links are written.

    >>> slug("orifice letter")
    'orifice-letter'
    """
    return heading.strip().replace(" ", "-")


def setup(app):
    """Tell Sphinx how this book sets its equations."""
    app.add_html_math_renderer("mathml", (_inline, None), (_display, None))
    return {"version": __version__, "parallel_read_safe": True}


def _inline(writer, node):
    writer.body.append(mathml(node.astext()))
    _skip()


def _display(writer, node):
    writer.body.append(f"<div class='math'>{mathml(node.astext(), 'block')}</div>")
    _skip()


def _skip():
    from docutils.nodes import SkipNode

    raise SkipNode
