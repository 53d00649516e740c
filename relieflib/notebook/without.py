"""A copy without CoolProp: a cell that needs it says so in words, and the rest goes on.

`go_on_in_words` is called once by `relieflib.notebook`, and does something only where CoolProp is
missing: in a browser without an install, say. A cell that then can't run, and those that build on
what it would have made, are left out with a sentence; what went wrong by other means stays an
error as ever.
"""

import ast
import importlib.util

from relieflib.errors import InputError

LACKS = "CoolProp, which this copy lacks"
_HOLDER = "_left_out"


class LeftOut:
    """What the cells of one kernel leave out; `names` that they would have made."""

    def __init__(self):
        self.names = set()

    def accepts(self, error):
        """Is this error nothing but CoolProp missing, here or in a cell before?"""
        if isinstance(error, NameError):
            return getattr(error, "name", None) in self.names
        return isinstance(error, InputError) and LACKS in str(error)

    def value(self, made):
        """Value of a cell's last expression; None where it, or the lines above, are left out."""
        if made is None:
            return None
        try:
            return made()
        except (InputError, NameError) as error:
            self.say(error)

    def say(self, error, names=()):
        """Print why a cell is left out; raise what has another reason."""
        if not self.accepts(error):
            raise error
        self.names |= set(names)
        why = "builds on one that needs" if isinstance(error, NameError) else "needs"
        print(f"Left out: this cell {why} CoolProp, the library of fluid properties, which this "
              "copy lacks.")  # fmt: skip


class InWords(ast.NodeTransformer):
    """A cell as IPython runs it, with a way out where CoolProp is missing."""

    def visit_Module(self, tree):
        """The lines in a `try`, and the last expression, whose value is shown, on its own."""
        if not tree.body:
            return tree
        *lines, last = tree.body
        if not isinstance(last, ast.Expr):
            lines, last = tree.body, None
        whole = ast.parse(_FRAME)
        guarded, shown = whole.body
        names = sorted(_made(lines))
        guarded.handlers[0].body[0].value.args[1] = ast.Constant(tuple(names))
        if lines:
            guarded.body = [*lines, *guarded.body]
        if last is not None:
            shown.value.args[0].body.body = last.value
        body = [guarded] + ([shown] if last is not None else [])
        return ast.fix_missing_locations(ast.Module(body, tree.type_ignores))


_FRAME = f"""
try:
    {_HOLDER}_made = True
except Exception as {_HOLDER}_error:
    {_HOLDER}.say({_HOLDER}_error, ())
    {_HOLDER}_made = False
{_HOLDER}.value((lambda: None) if {_HOLDER}_made else None)
"""


def _made(lines):
    """Names that these lines bind in the notebook."""
    found = set()
    for line in lines:
        for node in ast.walk(line):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                found.add(node.id)
            elif isinstance(node, ast.alias):
                found.add((node.asname or node.name).split(".")[0])
            elif isinstance(node, ast.FunctionDef | ast.ClassDef):
                found.add(node.name)
    return found


def go_on_in_words(shell=None):
    """Let a kernel without CoolProp leave out, in words, what needs it.

    Parameters: shell, IPython's, the running one by default. Returns bool: whether anything was
    changed, which it is only where CoolProp is missing and IPython runs.
    """
    if shell is None:
        try:
            from IPython import get_ipython
        except ModuleNotFoundError:
            return False
        shell = get_ipython()
    if shell is None or _found() or _HOLDER in shell.user_ns:
        return False
    shell.user_ns[_HOLDER] = LeftOut()
    shell.ast_transformers.append(InWords())
    return True


def _found():
    try:
        return importlib.util.find_spec("CoolProp") is not None
    except ValueError:  # blocked by a test
        return False
