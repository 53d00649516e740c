"""A report: what is to be filed, written as HTML or as PDF."""

import datetime
from dataclasses import dataclass
from pathlib import Path

from relieflib.errors import InputError
from relieflib.files import write_whole
from relieflib.report.html_page import html_page
from relieflib.texts import harmless


@dataclass(frozen=True)
class Report:
    """What is to be filed; about stands at the foot of each page beside the date.

    The same blocks and date give the same bytes, as HTML and as PDF.
    """

    title: str
    blocks: tuple
    date: datetime.date
    about: str = ""
    prepared_by: str = ""
    project: str = ""

    def html(self, progress=None):
        """The report as one HTML page, str; progress(done, total) is called after each block."""
        return html_page(self, progress)

    def pdf(self, progress=None):
        """The report as PDF on A4, bytes; progress as `html`."""
        from relieflib.report.pdf_page import pdf_document

        return pdf_document(self, progress)

    def save(self, path, overwrite=False, progress=None):
        """Write the report, whole or not at all.

        Parameters: path, ends in .html or .pdf; overwrite, True to replace a file; progress, a
        function of (blocks done, blocks in all). Returns Path. Raises InputError for another
        suffix, an existing file or a folder that can't be written to.
        """
        suffix = report_suffix(path)
        if Path(path).exists() and not overwrite:
            raise InputError(f"{harmless(path)}: exists already and was left as it is")
        data = self.pdf(progress) if suffix == ".pdf" else self.html(progress).encode("utf-8")
        return write_whole(path, data, overwrite)


def report_suffix(path):
    """'.html' or '.pdf', by the end of a path.

    Parameters: path. Returns str. Raises InputError for another one.
    >>> report_suffix("psv.PDF")
    '.pdf'
    """
    suffix = Path(path).suffix.lower()
    if suffix not in (".html", ".pdf"):
        raise InputError(f"{harmless(path)}: a report must end in .html or .pdf")
    return suffix
