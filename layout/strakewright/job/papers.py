"""From a finished build to its shop book and cut tickets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from strakewright.errors import Check, Finding
from strakewright.job.building import Build
from strakewright.job.sheeting import Sheets
from strakewright.job.strakes import lining_rows
from strakewright.outfit import WoodSettings
from strakewright.shop.fit import limits_of
from strakewright.tables import species
from strakewright.write.book import Book, Facts, LayerFacts
from strakewright.write.bookhtml import write_book_html
from strakewright.write.bookpdf import A4, LETTER, Leaf, write_book_pdf
from strakewright.write.bookpictures import write_picture
from strakewright.write.offsetrecords import table_note
from strakewright.write.panelmaps import USUAL
from strakewright.write.pen import RecordingPen
from strakewright.write.sheets import Sheet
from strakewright.write.shopbook import book_of, with_proofs
from strakewright.write.tickets import Shop, tickets_of


def write_tickets(done: Build, folder: Path, ready: Sheets, revision: str) -> None:
    """tickets.pdf: one page for every board."""
    shop = Shop(done.rules, ready.machine, ready.setups, table_note(done.hull.lines))
    book = tickets_of(done.inputs.boat.name, revision, ready.sheets, shop)
    write_book_pdf(folder / "tickets.pdf", book, _leaf(done).upright)


@dataclass(frozen=True, eq=False)
class Begun:
    """A book whose pictures and tables are worked out; findings and proofs of the papers themselves come last."""

    facts: Facts
    book: Book


def begin_book(done: Build, sheets: Sequence[Sheet], revision: str) -> Begun:
    """Everything of the book that is known before the papers are read back."""
    facts = facts_of(done, sheets, revision, done.checks)
    book = book_of(facts)
    for picture in book.pictures:
        picture.draw(RecordingPen())
    return Begun(facts, book)


def write_book(
    done: Build, folder: Path, begun: Begun, proved: Sequence[Check], findings: Sequence[Finding] = ()
) -> None:
    """book.pdf, book.html and pictures/.  proved, findings : everything checked and found, for the book's last pages"""
    facts = replace(begun.facts, checks=tuple(proved), findings=tuple(findings))
    book = with_proofs(begun.book, facts)
    write_book_pdf(folder / "book.pdf", book, _leaf(done))
    write_book_html(folder / "book.html", book)
    (folder / "pictures").mkdir()
    for picture in book.pictures:
        if picture.name:
            write_picture(folder / "pictures", picture, facts.boat)


def _leaf(done: Build) -> Leaf:
    """Paper of the book: as asked for, else by the builder's units."""
    boat = done.inputs.boat
    usual = "Letter" if boat.units in ("in", "ft") else "A4"
    return {"A4": A4, "Letter": LETTER}[boat.paper.book or usual]


def facts_of(done: Build, sheets: Sequence[Sheet], revision: str, checks: Sequence[Check]) -> Facts:
    """What the book tells of, gathered from the build."""
    layers = tuple(
        LayerFacts(
            la.settings, la.truth.layer, la.planks, la.truth.girths, la.truth.area, lining_rows(la, done.widest_of(la))
        )
        for la in done.layers
        if la.planks
    )
    return Facts(
        boat=done.inputs.boat.name,
        revision=revision,
        hull=dict(done.hull.figures) | {"surface": done.hull.surface},
        frames=done.frames,
        layers=layers,
        parts=done.parts,
        rules=done.rules,
        boards=done.inputs.boards,
        plan=done.plan,
        sheets=tuple(sheets),
        checks=tuple(checks),
        findings=done.findings,
        limits=tuple(
            row
            for name in dict.fromkeys(la.settings.species for la in done.layers)
            for row in _limits(name, done.inputs.boat.own_wood(name))
        ),
        framing=done.framing,
        panels=done.hull.panels,
        members=done.backbone.members,
        lofted=done.hull,
        sawn_members=done.backbone.sawn,
        reckoned=done.reckoned,
        map_limits={
            name: _map_limits(name, done.inputs.boat.own_wood(name))
            for name in dict.fromkeys(la.settings.species for la in done.layers)
        },
    )


def _map_limits(name: str, own: WoodSettings) -> dict[str, tuple[float, float]]:
    """What the maps of bend and twist are hatched above, of one wood: the limits of the verdicts."""
    limit = limits_of(species(name), own)
    bend = (limit.easy_bend / 2, limit.firm_bend / 2)
    return {**USUAL, "bend": bend, "twist": (limit.easy_shear, limit.firm_shear)}


def _limits(name: str, own: WoodSettings) -> list[tuple[str, str, str, str]]:
    """Limits of bending of one wood in words."""
    limit = limits_of(species(name), own)
    practice = "common practice, no source"
    source = "glulam rule of the National Design Specification, from memory"
    given = any(v is not None for v in (own.firm_radius, own.firm_strain, own.most_shear, own.firm_hollow))
    mine = ("; own figures of the boat file" if given else "") + (
        "; moved by planks already bent" if limit.bent else ""
    )
    easy, firm = 1 / limit.easy_bend, 1 / limit.firm_bend
    return [
        (f"{name}: radius / thickness", f"{easy:.0f}", f"{firm:.0f}", f"easy: {practice}; firm: {source}{mine}"),
        (
            f"{name}: share of breaking strain {100 * limit.breaking_strain:.2f} %",
            f"{100 * limit.easy_share:.0f} %",
            f"{100 * limit.firm_share:.0f} %",
            practice + mine,
        ),
        (
            f"{name}: shear of twist",
            f"{100 * limit.easy_shear:.1f} %",
            f"{100 * limit.firm_shear:.1f} %, with help to {100 * limit.most_shear:.1f} %",
            practice + mine,
        ),
        (f"{name}: hollow", f"{limit.easy_hollow:g} mm", f"{limit.firm_hollow:g} mm and t / 15", practice + mine),
    ]
