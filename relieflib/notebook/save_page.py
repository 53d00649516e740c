"""A form that writes the page to file, as HTML or PDF, into the reader's own folder."""

import ipywidgets as widgets

from relieflib.asking.kept import my_work
from relieflib.errors import InputError
from relieflib.notebook.forms import shown_as, tell
from relieflib.texts import harmless

ENDINGS = {"HTML, any browser": ".html", "PDF, A4": ".pdf"}


LONGEST = 100  # characters of a file's name
# names that Windows keeps for its devices, whatever ending follows
DEVICES = {"con", "prn", "aux", "nul"} | {
    f"{d}{n}" for d in ("com", "lpt") for n in "0123456789¹²³"
}


def page_name(typed, ending):
    """The name of a file as typed, with its ending once; a name that some system refuses is said.

    Parameters: typed, str; ending, such as '.html'. Returns str. Raises InputError for a folder, a
    control character, a name of Windows' devices, or none.
    >>> page_name("relief.html", ".html"), page_name("PSV-1.2", ".pdf")
    ('relief.html', 'PSV-1.2.pdf')
    """
    name = typed.strip()
    while name.casefold().endswith((".html", ".htm", ".pdf")):
        name = name.rpartition(".")[0].rstrip()
    said = harmless(typed)
    if not name or any(c in name for c in '/\\:*?"<>|') or name.startswith("."):
        raise InputError(f"file name '{said}': give a plain name, without folder or ending")
    if not name.isprintable() or name.endswith("."):
        raise InputError(f"file name '{said}': holds signs that no file name takes")
    if name.partition(".")[0].strip().casefold() in DEVICES:
        raise InputError(f"file name '{said}': Windows keeps this name for a device")
    if len((name + ending).encode("utf-8", "replace")) > LONGEST:
        raise InputError(f"file name '{said}': at most {LONGEST} bytes with its ending")
    return name + ending


class SavePage:
    """Name, project and kind of the page, and a button that writes it to `my-work`.

    report_of(prepared_by=..., project=...) gives the `Report`; name of the file without its ending.
    A file that is there already is never replaced.
    """

    def __init__(self, report_of, name):
        self._report_of = report_of
        self.name = widgets.Text(value=name, description="file name")
        self.kind = widgets.Dropdown(options=list(ENDINGS), description="kind")
        self.prepared_by = widgets.Text(placeholder="your name", description="prepared by")
        self.project = widgets.Text(placeholder="unit, job number", description="project")
        self.button = widgets.Button(description="Write the page", icon="file")
        self.said = widgets.HTML()
        self.button.on_click(self._clicked)
        fields = (self.name, self.kind, self.prepared_by, self.project, self.button)
        for field in fields:
            field.style.description_width = "90px"
        row = widgets.Box(fields, layout=widgets.Layout(flex_flow="row wrap"))
        self.box = widgets.VBox([row, self.said])

    def save(self):
        """Write the page; returns its path. Raises InputError for a name in use or of no use."""
        path = my_work() / page_name(self.name.value, ENDINGS[self.kind.value])
        path.parent.mkdir(parents=True, exist_ok=True)
        report = self._report_of(prepared_by=self.prepared_by.value, project=self.project.value)
        report.save(path)
        return path

    def _clicked(self, _button):
        self.said.value = "<div role='status'>writing ...</div>"
        tell(self.said, lambda: f"Written: {self.save()}", "Not written")

    def __repr__(self):
        return "Name the page, choose HTML or PDF, press the button: it is written to my-work."

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))
