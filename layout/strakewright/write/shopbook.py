"""The shop book put together: one content, written as book.pdf and book.html."""

from __future__ import annotations

from dataclasses import replace

from strakewright.write.book import Book, Facts, said
from strakewright.write.bookbevels import bending, bevels, limits
from strakewright.write.bookchecks import boat_in_figures, cautions, check_sheet, findings
from strakewright.write.bookframes import frame_pieces, set_up_sheet, transom_pages
from strakewright.write.booklines import lines_section
from strakewright.write.bookmaps import maps
from strakewright.write.bookmembers import clamps_and_glue, formers, laminations, member_bevels
from strakewright.write.bookpictures import pictures
from strakewright.write.bookplanks import hanging_order, measure_first, plank_table, ways_to_line_off, widths
from strakewright.write.bookstores import cloth_pages, joint_pages, movement_pages, stores_pages
from strakewright.write.bookwater import rule_pages, water_pages, weight_pages
from strakewright.write.bookwood import board_list, what_to_buy


def book_of(facts: Facts) -> Book:
    """All sections in the order a builder needs them."""
    sections = (
        boat_in_figures(facts),
        pictures(facts),
        what_to_buy(facts),
        findings(facts),
        lines_section(facts),
        board_list(facts) if facts.sheets else None,
        laminations(facts),
        formers(facts),
        member_bevels(facts),
        clamps_and_glue(facts),
        frame_pieces(facts),
        transom_pages(facts),
        set_up_sheet(facts),
        weight_pages(facts),
        water_pages(facts),
        rule_pages(facts),
        stores_pages(facts),
        plank_table(facts),
        maps(facts),
        hanging_order(facts),
        widths(facts),
        ways_to_line_off(facts),
        measure_first(facts),
        bevels(facts),
        bending(facts),
        limits(facts),
        joint_pages(facts),
        cloth_pages(facts),
        movement_pages(facts),
        check_sheet(facts),
        cautions(),
    )
    return Book(facts.boat, facts.revision, said(sections))


def with_proofs(book: Book, facts: Facts) -> Book:
    """The same book with the findings and the check sheet of `facts`: known last, when every paper is read back."""
    late = {section.title: section for section in (findings(facts), check_sheet(facts))}
    return replace(book, sections=tuple(late.get(section.title, section) for section in book.sections))
