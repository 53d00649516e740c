"""A form that writes the page to file, as HTML or PDF, into the reader's own folder."""

import ipywidgets as widgets

from relieflib.asking.kept import my_work
from relieflib.errors import InputError
from relieflib.notebook.forms import shown_as, tell

ENDINGS = {"HTML, any browser": ".html", "PDF, A4": ".pdf"}


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
        name = self.name.value.strip()
        if not name or any(c in name for c in '/\\:*?"<>|') or name.startswith("."):
            raise InputError(f"file name '{name}': give a plain name, without folder or ending")
        path = my_work() / (name + ENDINGS[self.kind.value])
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
