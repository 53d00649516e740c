"""A report as one HTML page: no network, no script, equations as MathML, pictures inside."""

import base64
import html

from relieflib.expressions import to_mathml
from relieflib.report.blocks import (
    LONGEST,
    LONGEST_CELL,
    Columns,
    Contents,
    Equations,
    Figure,
    Heading,
    Paragraph,
    Signatures,
    Table,
    each_block,
    safe_lines,
)

# --- HTML -----------------------------------------------------------------------------------

_STYLE = """
body{font:15px/1.45 "DejaVu Sans","Segoe UI",Helvetica,Arial,sans-serif;color:#111;background:#fff;
 margin:0 auto;padding:1rem;max-width:62rem}
h1{font-size:1.6rem;line-height:1.2}
h2{font-size:1.25rem;border-bottom:2px solid #111;margin:2rem 0 .6rem;overflow-wrap:anywhere}
h3{font-size:1.05rem;margin:1.3rem 0 .4rem}
.box{border:2px solid #111;padding:.6rem .8rem}
.wide{overflow-x:auto;margin:.7rem 0}
table{border-collapse:collapse;width:100%;font-size:.87em;font-variant-numeric:tabular-nums}
caption{text-align:left;font-weight:bold;padding:.3rem 0}
th,td{border-bottom:1px solid #bbb;padding:.25rem .5rem;text-align:left;vertical-align:top;
 overflow-wrap:break-word;min-width:3rem;max-width:26rem;unicode-bidi:isolate}
thead th{background:#eee;border-bottom:2px solid #111}
tbody th{font-weight:normal}
.r{text-align:right}td.r{white-space:nowrap}
.bad{font-weight:bold;color:#a00000}
ol.steps{padding-left:2rem;margin:0}
ol.steps>li{border-bottom:1px solid #bbb;padding:.35rem 0}
.eq{font-size:1.15em;padding:.35rem 0;overflow-x:auto}
.small,.under td{font-size:.87em;color:#333;overflow-wrap:anywhere}
.under td{max-width:none}.over th,.over td{border-bottom:0}
.result{font-weight:bold}
figure{margin:1rem 0}
figure img{max-width:100%;height:auto}
.sign{display:grid;grid-template-columns:1fr 1fr;gap:1.6rem 2rem;margin:1.5rem 0}
.sign div{border-bottom:1px solid #111;min-height:1.6rem}
@media (max-width:600px){body{font-size:14px;padding:.6rem}.sign{grid-template-columns:1fr}
 .wide table{min-width:42rem}.wide table.two{min-width:0}}
@page{margin:12mm 14mm 15mm;@bottom-left{content:ABOUT;font-size:8pt}
 @bottom-right{content:"page " counter(page) " of " counter(pages);font-size:8pt}}
@media print{body{font-size:9pt;max-width:none;padding:0}th,td{padding:.1rem .35rem}
 h2{font-size:13pt}h3{font-size:10.5pt}.wide{overflow:visible;margin:.4rem 0}
 thead{display:table-header-group}tr,figure,ol.steps>li,.sign,.box{break-inside:avoid}
 h1,h2,h3,h3+p,caption{break-after:avoid}h2.new{break-before:page}
 h2.new{margin:0 0 .3rem}.columns{columns:2;column-gap:5mm;font-size:7.1pt;line-height:1.13}
 .columns table,.columns .small,.columns .under td{font-size:7pt}.columns .wide{margin:.2rem 0}
 .columns.one{columns:1}.columns th,.columns td{padding:.02rem .2rem;min-width:0}
 .columns h3,.columns caption{font-size:8pt;margin:0;padding:.1rem}
 .columns p{margin:.2rem 0}.columns figure{margin:0}.columns ol.steps>li{padding:.06rem 0}
 .columns .eq{font-size:10pt;padding:0;overflow:visible;float:left;margin-right:3mm}
 .columns ol.steps{list-style:none;padding:0;counter-reset:n}
 .columns ol.steps>li{overflow:hidden;counter-increment:n}
 .columns ol.steps>li>div:first-child::before{content:counter(n) ". "}
 .columns li.short div{display:inline}.over{break-after:avoid}
 .eq msup>:last-child,.eq msup>:last-child *,.eq msub>:last-child *{font-size:7pt}
 thead th{-webkit-print-color-adjust:exact;print-color-adjust:exact}}
"""


def _escaped(text, longest=LONGEST):
    return "<br>".join(html.escape(line) for line in safe_lines(text, longest))


def html_page(report, progress=None):
    """A report as one HTML page: no script, no network, pictures inside.

    Parameters: report, `Report`; progress, a function of (blocks done, in all). Returns str.
    """
    about = f"{report.about}, {report.date.isoformat()}"
    about = "".join(f"\\{ord(c):x} " if c in "\"\\<>&'" else c for c in safe_lines(about)[0])
    title = html.escape(safe_lines(report.title)[0])
    author = html.escape(safe_lines(report.prepared_by)[0])
    parts = [_HTML[type(b)](b, number, report) for number, b in each_block(report, progress)]
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        f'<meta name="author" content="{author}">\n'
        f'<meta name="date" content="{report.date.isoformat()}">\n<title>{title}</title>\n'
        f"<style>{_STYLE.replace('ABOUT', chr(34) + about + chr(34))}</style>\n</head>\n"
        f"<body>\n<main>\n<h1>{title}</h1>\n" + "\n".join(parts) + "\n</main>\n</body>\n</html>\n"
    )


def _html_heading(block, number, report):
    new = ' class="new"' if block.new_page else ""
    return f'<h{block.level} id="part-{number}"{new}>{_escaped(block.text)}</h{block.level}>'


def _html_paragraph(block, number, report):
    lead = f"<strong>{_escaped(block.lead)}</strong> " if block.lead else ""
    return f"<p{' class=box' * block.boxed}>{lead}{_escaped(block.text)}</p>"


def _html_table(block, number, report):
    head = "".join(
        f'<th scope="col"{" class=r" * (i in block.right)}>{_escaped(c)}</th>'
        for i, c in enumerate(block.columns)
    )
    body = "".join(_html_row(block, n, row) for n, row in enumerate(block.rows))
    caption = f"<caption>{_escaped(block.caption)}</caption>" if block.caption else ""
    share = 100 / sum(block.widths)
    widths = "".join(f'<col style="width:{w * share:.3g}%">' for w in block.widths)
    two = ' class="two"' * (len(block.columns) < 4)
    name = html.escape(block.caption or ", ".join(filter(None, block.columns)))
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{name}"><table{two}>{caption}'
        f"<colgroup>{widths}</colgroup>"
        f"<thead><tr>{head}</tr></thead><tbody>\n{body}</tbody></table></div>"
    )


def _html_row(block, n, row):
    under = block.under[n] if block.under else ""
    over = ' class="over"' if under else ""
    cells = "".join(_html_cell(block, i, c) for i, c in enumerate(row))
    line = f"<tr{over}>{cells}</tr>\n"
    if under:
        words = _escaped(under, LONGEST_CELL)
        line += f'<tr class="under"><td colspan="{len(row)}">{words}</td></tr>\n'
    return line


def _html_cell(block, i, text):
    words = [f'<span class="bad">{w}</span>' if block.loud(i, w) else w
             for w in _escaped(text, LONGEST_CELL).split("<br>")]  # fmt: skip
    kind = " class=r" * (i in block.right)
    if i in block.heads:
        return f'<th scope="row"{kind}>{"<br>".join(words)}</th>'
    return f"<td{kind}>{'<br>'.join(words)}</td>"


def _html_equations(block, number, report):
    parts = []
    for s in block.steps:
        line = to_mathml(s["symbol"], s["equation"]) if s["equation"] else ""
        line = f'<div class="eq">{line}</div>' if line else ""
        numbers = f'<div class="small">with {_escaped(s["numbers"])}</div>' * bool(s["numbers"])
        number = s["source"] if s["source"].startswith("[") else ""  # in the list of sources
        source = "" if number else s["source"]
        source = f'<div class="small">{_escaped(source)}</div>' if source else ""
        short = "" if line or numbers else ' class="short"'
        title = _escaped(f"{s['symbol']}, {s['meaning']} {number}".rstrip())
        parts.append(f"<li{short}><div>{title}</div>{line}"
                     f'{numbers}<div class="result">{_escaped(s["symbol"])} = '
                     f"{_escaped(s['result'])}</div>{source}</li>")  # fmt: skip
    return f'<ol class="steps">\n{chr(10).join(parts)}\n</ol>'


def _html_figure(block, number, report):
    data = base64.b64encode(block.bytes()).decode("ascii")
    alt = html.escape(safe_lines(block.alt.replace("\n", " "))[0])
    return (f'<figure><img alt="{alt}" src="data:image/png;base64,{data}">'
            f"<figcaption>{_escaped(block.caption)}</figcaption></figure>")  # fmt: skip


def _html_columns(block, number, report):
    parts = [_HTML[type(b)](b, f"{number}-{i}", report) for i, b in enumerate(block.blocks, 1)]
    one = " one" * (block.count == 1)
    return f'<div class="columns{one}">\n{chr(10).join(parts)}\n</div>'


def _html_signatures(block, number, report):
    lines = "".join(f"<div>{_escaped(w)}{': ' if w else ''}{_escaped(v)}</div>"
                    for w, v in block.lines)  # fmt: skip
    return f'<div class="sign">{lines}</div>'


def _html_contents(block, number, report):
    entries = "".join(
        f'<li><a href="#part-{i}">{_escaped(b.text)}</a></li>\n'
        for i, b in enumerate(report.blocks, start=1)
        if isinstance(b, Heading) and b.level == 2
    )
    return f'<nav aria-label="Contents"><h2>Contents</h2><ol>\n{entries}</ol></nav>'


_HTML = {
    Heading: _html_heading, Paragraph: _html_paragraph, Table: _html_table, Figure: _html_figure,
    Equations: _html_equations, Signatures: _html_signatures, Contents: _html_contents,
    Columns: _html_columns,
}  # fmt: skip
