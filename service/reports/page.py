"""One self-contained page: its look, its tables. One hue and greys; no script, nothing fetched."""

from collections.abc import Iterable, Sequence
from html import escape

_STYLE = """
:root{--ink:#23282c;--soft:#667078;--line:#d5dade;--paper:#fff;--hue:#1f6f78;--pale:#cfe3e5}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,sans-serif}
main{max-width:60rem;margin:0 auto;padding:2rem 1rem 4rem}
h1{font-size:1.6rem;margin:0 0 .25rem}h2{font-size:1.2rem;margin:2.5rem 0 .5rem}
p{max-width:44rem}.soft,figcaption,caption{color:var(--soft);font-size:.9rem}
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
caption{text-align:left;padding:.25rem 0}
th,td{text-align:right;padding:.3rem .6rem;border-bottom:1px solid var(--line);white-space:nowrap}
th:first-child,td:first-child{text-align:left;white-space:normal}thead th{border-bottom:2px solid var(--soft)}
figure{margin:1rem 0}svg{max-width:100%;height:auto;display:block}
.caution{border-left:4px solid var(--hue);padding:.25rem 1rem}
"""


def page(title: str, parts: Iterable[str]) -> str:
    """Return a whole HTML document."""
    body = "\n".join(parts)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<link rel="icon" href="data:,">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head>\n"
        f"<body><main>\n{body}\n</main></body></html>\n"
    )


def heading(text: str, level: int = 2) -> str:
    """Return a heading."""
    return f"<h{level}>{escape(text)}</h{level}>"


def paragraph(text: str, kind: str = "") -> str:
    """Return a paragraph; ``kind`` is ``soft`` or ``caution``."""
    return f'<p class="{kind}">{escape(text)}</p>' if kind else f"<p>{escape(text)}</p>"


def bullet_list(items: Iterable[str]) -> str:
    """Return a list of sentences."""
    return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in items) + "</ul>"


def table(caption: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table whose first column names its rows."""
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in columns)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    return (
        f'<div class="wide"><table><caption>{escape(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def figure(svg: str, caption: str) -> str:
    """Return a drawing with what it shows, its unit and where it comes from."""
    return f"<figure>{svg}<figcaption>{escape(caption)}</figcaption></figure>"
