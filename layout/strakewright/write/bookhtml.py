"""book.html: the shop book for a screen, one file that asks nothing of the world; it prints too."""

from __future__ import annotations

from html import escape
from pathlib import Path

from strakewright.write.book import Block, Book, Picture, Section, Table, Words
from strakewright.write.svg import SvgPen

_CSS = """
:root { color-scheme: light; }
body { font: 17px/1.45 sans-serif; color: #000; background: #fff; }
body { max-width: 75rem; margin: 0 auto; padding: 0 1rem 4rem; }
h1 { margin: 1.2rem 0 0; } h2 { margin: 3rem 0 .6rem; border-top: 3px solid #000; padding-top: .6rem; }
nav li { margin: .35rem 0; } a { color: #000; }
table { border-collapse: collapse; margin: .6rem 0 1.6rem; }
caption { text-align: left; font-weight: bold; padding: .3rem 0; }
th, td { text-align: left; vertical-align: top; padding: .3rem .9rem .3rem 0; white-space: pre-line; }
th, td { border-bottom: 1.5px solid #000; }
td.f, th.f { text-align: right; font-variant-numeric: tabular-nums; }
.bench { font-size: 21px; } .bench td.n { font-size: 38px; font-weight: bold; line-height: 1.1; white-space: nowrap; }
.wide { overflow-x: auto; } svg { max-width: 100%; height: auto; display: block; }
figure { margin: .6rem 0 1.2rem; } figcaption { font-weight: bold; }
@page { size: landscape; margin: 12mm; }
@media print { h2 { break-before: page; } tr, figure { break-inside: avoid; } thead { display: table-header-group; } }
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def write_book_html(path: Path, book: Book) -> None:
    """book.html"""
    path.write_text(page(book), encoding="utf-8", newline="\n")


def page(book: Book) -> str:
    """The whole page."""
    title = escape(f"{book.boat}: shop book")
    links = "".join(f'<li><a href="#s{n}">{escape(s.title)}</a></li>' for n, s in enumerate(book.sections, start=1))
    body = "\n".join(_section(n, section) for n, section in enumerate(book.sections, start=1))
    told = "Lengths in mm to 0.5 and in inches to 1/32; exact figures stand in the JSON and DXF files."
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}</title><style>{_CSS}</style></head>\n<body>"
        f"<h1>{title}</h1><p>Revision {escape(book.revision)}. {told}</p>"
        f"<nav><ol>{links}</ol></nav>\n{body}\n</body></html>\n"
    )


def _section(number: int, section: Section) -> str:
    blocks = "\n".join(_block(block) for block in section.blocks)
    kind = ' class="bench"' if section.bench else ""
    return f'<section{kind} id="s{number}"><h2>{escape(section.title)}</h2>\n{blocks}</section>'


def _block(block: Block) -> str:
    if isinstance(block, Words):
        text = escape(block.text)
        return f"<p><strong>{text}</strong></p>" if block.strong else f"<p>{text}</p>"
    return _table(block) if isinstance(block, Table) else _picture(block)


def _table(table: Table) -> str:
    figures = [table.is_figure(c) for c in range(len(table.head))]
    head = "".join(f"<th{_kind(figures[c])}>{escape(cell)}</th>" for c, cell in enumerate(table.head))
    rows = "\n".join(
        "<tr>"
        + "".join(f"<td{_kind(figures[c], c in table.tall)}>{escape(cell)}</td>" for c, cell in enumerate(row))
        + "</tr>"
        for row in table.rows
    )
    caption = f"<caption>{escape(table.caption)}</caption>" if table.caption else ""
    return f'<div class="wide"><table>{caption}<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'


def _kind(figure: bool, number: bool = False) -> str:
    return ' class="n"' if number else ' class="f"' if figure else ""


def _picture(picture: Picture) -> str:
    pen = SvgPen(weight=0.5)
    picture.draw(pen)
    caption = f"<figcaption>{escape(picture.caption)}</figcaption>" if picture.caption else ""
    return f"<figure>{caption}{pen.markup(title=picture.caption or 'sketch', margin=2.0)}</figure>"
