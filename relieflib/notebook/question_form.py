"""Questions on the page: a box and a list of units, or buttons; Check, Hint, Solution.

`ask("10")` and `warm_up("10")` are all that a notebook says; what is asked stands in
`relieflib.questions`. `sign_in()` says once who answers.
"""

import html
import warnings

import ipywidgets as widgets

from relieflib.asking import kept
from relieflib.asking.question import Choice, Worked, asked
from relieflib.notebook.forms import shown_as, soon, tell
from relieflib.questions import questions_of, warm_up_of
from relieflib.symbols import shown
from relieflib.texts import html_text, unit_text
from relieflib.working import as_html

Layout = widgets.Layout
_SIGN = {"right": ("✓ Right", "#009E73"), "wrong": ("✗ Not yet", "#D55E00"),
         "not read": ("? Not read", "#56B4E9"), "not attempted": ("… Not attempted", "#56B4E9"),
         "hint": ("Hint", "#E69F00"), "solution": ("Solution", "#0072B2")}  # fmt: skip
LETTERS = "abcdefgh"


def ask(book):
    """The questions of a notebook for whoever answers here, to check, with hints and solutions.

    Parameters: book, its number as two digits, '10'. Returns `Questions`.
    """
    person = kept.who()
    return Questions(book, [asked(q, book, person) for q in questions_of(book)], person)


def warm_up(book):
    """The two questions of earlier notebooks that a notebook begins with. Returns `Questions`."""
    person = kept.who()
    return Questions(book, warm_up_of(book, person), person, "Warm-up")


class Questions:
    """Several questions one under the other, who answers above them; shows itself."""

    def __init__(self, book, all_asked, person, head="Question"):
        self.book, self.person, self.head = book, person, head
        numbers = range(1, len(all_asked) + 1)
        self.forms = [_form(one, f"{head} {n}") for n, one in zip(numbers, all_asked)]
        self.who = widgets.HTML()
        again = widgets.Button(description="Start again", tooltip=f"Start notebook {book} again",
                               layout=Layout(width="auto"))  # fmt: skip
        again.on_click(self._again)
        self.said = widgets.HTML()
        foot = widgets.HBox([again, self.said], layout=Layout(align_items="center"))
        tail = [foot] if head == "Question" else []
        self.box = widgets.VBox([self.who, *(f.box for f in self.forms), *tail])
        self._count()
        for form in self.forms:
            form.changed = self._count

    def _count(self):
        tried = [f.asked.last() for f in self.forms if not isinstance(f, WorkedForm)]
        right = sum(bool(kept) and kept["verdict"] == "right" for kept in tried)
        words = [f"{self.person}: {right} of {len(tried)} right."]
        if self.person.words:
            words = [f"{self.person.words}. Until then the numbers are those of working alone."]
        text = html.escape(" ".join(words))
        self.who.value = f"<div style='opacity:.8'>{text}</div>"

    def _again(self, _button):
        def act():
            count = kept.start_again(self.book, self.person.participant)
            for form in self.forms:
                form.clear()
            self._count()
            return f"{count} answers set back. The numbers stay; earlier tries stay in your file."

        tell(self.said, act, "Not set back")

    def __repr__(self):
        return "\n\n".join(repr(form) for form in self.forms)

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))


def _form(one, title):
    kinds = {Worked: WorkedForm, Choice: ChoiceForm}
    return kinds.get(type(one.question), ValueForm)(one, title)


def _heading(title, text):
    return f"<div style='line-height:1.45;max-width:48em'><b>{title}.</b> {html.escape(text)}</div>"


def _block(kind, text, raw=""):
    """HTML of what a form says, with its sign in words and colour."""
    head, colour = _SIGN[kind]
    return (
        f"<div role='status' style='line-height:1.45;max-width:60em;padding:4px 10px;"
        f"border-left:4px solid {colour}'><b>{head}.</b> {html.escape(text)}{raw}</div>"
    )


class _Form:
    """What all forms share: the text above, what is said below."""

    def __init__(self, one, title):
        self.asked, self.title, self.changed = one, title, lambda: None
        text = widgets.HTML(_heading(title, one.text), layout=Layout(width="auto"))
        self.said = widgets.HTMLMath(layout=Layout(width="auto", margin="0 0 6px 0"))
        self.box = widgets.VBox([text, *self._parts(), self.said],
                                layout=Layout(margin="0 0 14px 0", width="auto"))  # fmt: skip
        last = one.last()
        if last and last["verdict"] in ("right", "wrong"):
            given = f"{last['attempt']} {unit_text(last.get('unit', ''))}".strip()
            self.say("not attempted", f"last time you gave {given}, which was {last['verdict']}.")

    def say(self, kind, text, raw=""):
        """Show words under the question."""
        self.said.value = _block(kind, text[:1].upper() + text[1:], raw)

    def clear(self):
        """Take back what was said."""
        self.said.value = ""

    def _button(self, words, act):
        button = widgets.Button(description=words, tooltip=f"{words}: {self.title}",
                                layout=Layout(width="auto"))  # fmt: skip
        button.on_click(lambda _: act())
        return button

    def judge(self, attempt, unit=""):
        """Check an attempt, keep it and say what it was; returns the `Feedback`."""
        feedback = self.asked.check(attempt, unit)
        self.say(feedback.verdict, feedback.words)
        self.changed()
        return feedback

    def hint(self):
        """Show the hint."""
        self.say("hint", self.asked.question.hint)


class WorkedForm(_Form):
    """An example done in full: its working and what to see in it."""

    def _parts(self):
        working = widgets.HTMLMath(as_html(self.asked.working), layout=Layout(width="auto"))
        note = widgets.HTML(_heading("See", self.asked.question.note))
        return [working, note] if self.asked.question.note else [working]

    def __repr__(self):
        return f"{self.title}, worked. {self.asked.text}\n{self.asked.working!r}"


class ValueForm(_Form):
    """A number: a box, a list of units and three buttons. Enter in the box checks."""

    def _parts(self):
        units = self.asked.units
        self.value = widgets.Text(placeholder="number", layout=Layout(width="130px"),
                                  tooltip=f"{self.title}: your number")  # fmt: skip
        self.unit = widgets.Dropdown(options=[(unit_text(u) or "no unit", u) for u in units],
                                     layout=Layout(width="100px"),
                                     tooltip=f"{self.title}: unit of your number")  # fmt: skip
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            self.value.on_submit(lambda _: soon(self.check))
        buttons = [self._button("Check", lambda: soon(self.check)), self._button("Hint", self.hint),
                   self._button("Solution", self.solution)]  # fmt: skip
        row = widgets.HBox([self.value, self.unit, *buttons],
                           layout=Layout(flex_flow="row wrap", align_items="center"))  # fmt: skip
        given = widgets.HTML(f"<div>Given on the way: {html_text(self._given())}</div>")
        return [given, row] if self.asked.given else [row]

    def check(self):
        """Judge what stands in the box."""
        return self.judge(self.value.value, self.unit.value)

    def solution(self):
        """Show the working with this participant's numbers."""
        self.say("solution", f"{self.asked.right_text}.", as_html(self.asked.working))

    def _given(self):
        return ", ".join(f"{s.symbol} = {shown(s.name, s.value)}" for s in self.asked.given)

    def __repr__(self):
        given = f" Given on the way: {self._given()}." if self.asked.given else ""
        return f"{self.title}. {self.asked.text}{given}"


class ChoiceForm(_Form):
    """Options with a lettered button each; every one has its reason."""

    def _parts(self):
        rows = []
        self.buttons = []
        for letter, words in zip(LETTERS, self.asked.options):
            button = widgets.Button(description=letter, layout=Layout(width="36px"),
                                    tooltip=f"{self.title}, {letter}: {words}")  # fmt: skip
            button.on_click(lambda _, words=words: self.judge(words))
            text = widgets.HTML(f"<div style='line-height:1.4'>{html.escape(words)}</div>",
                                layout=Layout(width="auto", flex="1 1 auto"))  # fmt: skip
            rows.append(widgets.HBox([button, text], layout=Layout(align_items="center")))
            self.buttons.append(button)
        hint = widgets.HBox([self._button("Hint", self.hint)])
        return [*rows, hint] if self.asked.question.hint else rows

    def __repr__(self):
        options = "".join(f"\n  {x}  {w}" for x, w in zip(LETTERS, self.asked.options))
        return f"{self.title}. {self.asked.text}{options}"


class SignIn:
    """Who answers, said once for every notebook of this folder; see `sign_in`."""

    def __init__(self):
        person = kept.who()
        self.number = widgets.Text(str(person.participant), description="participant",
                                   tooltip="number you were given, 0 alone")  # fmt: skip
        self.room = widgets.Text(person.room, description="room code",
                                 tooltip="code of the class, empty when alone")  # fmt: skip
        button = widgets.Button(description="Keep", tooltip="Keep who answers",
                                layout=Layout(width="auto"))  # fmt: skip
        button.on_click(self._keep)
        self.said = widgets.HTML(html_text(person.words))
        row = [self.number, self.room, button]
        self.box = widgets.VBox([widgets.HBox(row, layout=Layout(flex_flow="row wrap")), self.said])

    def _keep(self, _button):
        def act():
            person = kept.be(self.number.value, self.room.value)
            return f"{person}. Run a notebook from its top to see your numbers."

        tell(self.said, act, "Not kept")

    def __repr__(self):
        return str(kept.who())

    def _repr_mimebundle_(self, include=None, exclude=None):
        return shown_as(self.box, text_plain=repr(self))


def sign_in():
    """A form for the participant's number and the room code. Returns `SignIn`."""
    return SignIn()
