"""What the page says to those who hear it: each control its name, each slider its value with unit,
each picture its words; and in a dark theme the arrow of a list is light.

The widgets' own part of the page gives a slider no name and speaks its position, and JupyterLab
drops the words of a picture. A small script mends both: it reads what stands beside a control
anyway, and knows the pictures shown. It is sent once a kernel and shows nothing itself; where
`anywidget` is missing, or the page does not know it, the page is what it would be without.
"""

from importlib.util import find_spec

from traitlets import Dict

ROW = "relief-control"  # class of the box of a control; the script looks for it
FOLD = "relief-fold"  # class of what opens and closes
TAIL = 64  # letters by which a picture is known
PICTURES = (("figures", "Display"), ("sketch", "Sketch"), ("detail", "Detail"))
_SCRIPT = """
const ROW = ".relief-control";
function put(e, name, value) {
    if (value && e.getAttribute(name) !== value) e.setAttribute(name, value);
}
function tellRow(row) {
    const [name, unit] = [...row.querySelectorAll(".widget-html-content")]
        .map(e => e.innerText.trim().replace(/\\s+/g, " "));
    const box = row.querySelector("input[type=text]");
    for (const e of row.querySelectorAll(".noUi-handle, input, select")) put(e, "aria-label", name);
    for (const e of row.querySelectorAll(".noUi-handle"))
        put(e, "aria-valuetext", box && box.value ? `${box.value} ${unit || ""}`.trim() : "");
}
function tell(models) {
    document.querySelectorAll(ROW).forEach(tellRow);
    for (const e of document.querySelectorAll(".jupyter-widgets :is(input, select)[title]"))
        if (!e.closest(ROW) && ![...e.labels].some(l => l.innerText.trim()))
            put(e, "aria-label", e.title);
    for (const e of document.querySelectorAll(".relief-fold"))
        put(e.querySelector("button"), "aria-expanded",
            String(getComputedStyle(e.lastElementChild).display !== "none"));
    for (const e of document.querySelectorAll("img.widget-image[title]")) put(e, "alt", e.title);
    for (const e of document.querySelectorAll(".jp-RenderedImage img:not([alt])"))
        for (const m of models) put(e, "alt", m.get("pictures")[e.src.slice(-TAIL)]);
}
function start() {
    const models = [];
    let waits = false;
    function soon() {
        if (waits) return;
        waits = true;
        setTimeout(() => { waits = false; tell(models); }, 50);
    }
    new MutationObserver(soon).observe(document.body, {subtree: true, childList: true,
        attributes: true, attributeFilter: ["src", "aria-valuetext"]});
    return {models, soon};
}
export default {
    initialize({model}) {
        const page = window.reliefSpoken ??= start();
        page.models.push(model);
        model.on("change:pictures", page.soon);
        page.soon();
    },
};
""".replace("TAIL", str(TAIL))
# the widgets' own arrow is black, also on a black page
_STYLE = """
body[data-jp-theme-light="false"] {
    --jp-widgets-dropdown-arrow: url("data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' \
viewBox='0 0 18 18'%3E%3Cpath \
d='M5.2 6.6 9 10.4l3.8-3.8 1.2 1.2-5 5-5-5z' fill='%23ddd'/%3E%3C/svg%3E");
}
"""
_sent = []


def speak():
    """Send the script to the page, once a kernel. Returns its widget, None without `anywidget`."""
    if not _sent and find_spec("anywidget") is not None:
        from anywidget import AnyWidget

        class Spoken(AnyWidget):
            _esm = _SCRIPT
            _css = _STYLE
            pictures = Dict().tag(sync=True)

        _sent.append(Spoken())
    return _sent[0] if _sent else None


def tell_pictures(shell=None):
    """Let the page know the words of each picture that IPython shows.

    Parameters: shell, IPython's, the running one by default. Returns bool: whether there is one.
    """
    if shell is None:
        try:
            from IPython import get_ipython
        except ModuleNotFoundError:
            return False
        shell = get_ipython()
    if shell is None:
        return False
    show = shell.display_formatter.mimebundle_formatter
    for module, name in PICTURES:
        show.for_type_by_name(f"relieflib.report.{module}", name, _shown)
    return True


def _shown(picture):
    data, more = picture._repr_mimebundle_()
    spoken = speak()
    if spoken is not None:
        spoken.pictures = spoken.pictures | {data["image/png"][-TAIL:]: more["image/png"]["alt"]}
    return data, more
