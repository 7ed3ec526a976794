"""From a plan to cutting sheets for the machine there is, proved by reading them back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strakewright.errors import Check, Finding
from strakewright.job.building import Build
from strakewright.machine import MachineSettings
from strakewright.proof.heldback import Held, Share, clearances, windows_whole
from strakewright.proof.readback import compare, read_sheet, taped
from strakewright.write.framerecords import frame_labels
from strakewright.write.labels import Label, labels_of
from strakewright.write.memberrecords import member_labels
from strakewright.write.pen import kept, lay
from strakewright.write.setups import PIN, SCREW, Setup, setup_of
from strakewright.write.sheets import Extra, Machining, Sheet, Title, draw_wood, tape_checks, write_sheets
from strakewright.write.windowed import WindowFile, draw_setup, setup_notes, style_of, write_windows

Proved = tuple[tuple[Check, ...], tuple[Finding, ...]]


@dataclass(frozen=True, eq=False)
class Sheets:
    """All sheets and how each is held.  setups : by sheet, empty where no router is named"""

    sheets: tuple[Sheet, ...]
    setups: Mapping[str, Setup]
    machine: MachineSettings | None


def prepared(done: Build, sheets: Sequence[Sheet]) -> Sheets:
    """Windows, pins, screws and tabs worked out for the router of the boat file, if it names one."""
    machine = done.inputs.boat.machine
    router = machine is not None and machine.cutting == "router"
    setups = {s.name: setup_of(s, machine) for s in sheets} if machine is not None and router else {}
    return Sheets(tuple(sheets), setups, machine)


def sheets_proved(done: Build, folder: Path, ready: Sheets, title: Title) -> Proved:
    """sheets/: every sheet written and read again, with its tape checks; windows and keep-outs likewise."""
    (folder / "sheets").mkdir()
    labels, machine = _labels(done), ready.machine
    extras = _extras(ready, labels)
    machining = Machining(style_of(machine), extras, machine.cutter if machine and ready.setups else None)
    files = write_sheets(folder / "sheets", ready.sheets, title, done.rules, labels, machining)
    arcs = machining.style.arcs
    lines = {(s.board.id, s.leaf): read_sheet(files[s.name], arcs) for s in ready.sheets}
    checks, findings = compare(lines, done.parts, done.plan)
    tapes = [
        taped(s.name, lines[s.board.id, s.leaf], [(t.name, t.start, t.end, t.distance) for t in tape_checks(s)])
        for s in ready.sheets
    ]
    held, said = _held(ready, folder / "sheets", title, extras)
    return (*checks, *held, *(c for row in tapes for c in row)), (*findings, *said)


def _extras(ready: Sheets, labels: dict[str, Label]) -> dict[str, Extra]:
    """What the machine wants on every sheet; nothing where no machine is named."""
    return {} if ready.machine is None else {s.name: _extra(s, ready, ready.machine, labels) for s in ready.sheets}


def _extra(sheet: Sheet, ready: Sheets, machine: MachineSettings, labels: dict[str, Label]) -> Extra:
    wood = kept(lambda pen: draw_wood(pen, sheet, labels))
    if sheet.name in ready.setups:
        setup = ready.setups[sheet.name]
        return Extra(lambda pen: draw_setup(pen, sheet, setup), setup_notes(setup, machine), wood)
    note = f"CUT BY HAND ({machine.cutting}): to the pattern of each part; order and rips stand on the cut ticket."
    return Extra(lambda pen: None, (note,), wood)


def _held(ready: Sheets, folder: Path, title: Title, extras: dict[str, Extra]) -> Proved:
    """Window files, and whether pins, screws and windows are as they must be."""
    machine = ready.machine
    if machine is None or not ready.setups:
        return (), ()
    if any(setup.is_moved for setup in ready.setups.values()):
        (folder / "windows").mkdir()
    files: list[WindowFile] = []
    for sheet in ready.sheets:
        files += write_windows(
            folder / "windows", sheet, ready.setups[sheet.name], (title, machine), extras[sheet.name].wood
        )
    boards = [_held_board(sheet, ready.setups[sheet.name], machine.cutter) for sheet in ready.sheets]
    bed = machine.bed[0] if machine.bed else np.inf
    shares = [Share(f.sheet, f.path, f.shift, bed) for f in files]
    checks, findings = clearances(boards)
    said = tuple(f for setup in ready.setups.values() for f in setup.findings)
    return (*checks, *windows_whole(boards, shares, machine.arcs)), (*findings, *said)


def _held_board(sheet: Sheet, setup: Setup, cutter: float) -> Held:
    rings = tuple(lay(part.outline, placement) for part, placement in sheet.laid)
    discs = [(*pin, PIN) for pin in setup.pins] + [(*screw, SCREW) for screw in setup.screws]
    return Held(sheet.name, rings, sheet.board.outline, np.array(discs).reshape(-1, 3), cutter)


def _labels(done: Build) -> dict[str, Label]:
    verdict = {p.id: p.fit.verdict for p in done.planks}
    planks = {
        name: replace(label, words=f"{label.words} {verdict[name]}") for name, label in labels_of(done.planks).items()
    }
    return planks | frame_labels(done.framing) | member_labels(done.backbone.members, done.backbone.sawn)
