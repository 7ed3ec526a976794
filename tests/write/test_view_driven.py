"""The 3-D page driven in a browser without a screen and without a network: what is picked, shown, pulled apart, flat.

Where the places of known planks fall on the screen is reckoned here from the page's own description of its eye: the
three-quarter view frames the whole, so the middle of a lone body lies under the middle of the canvas.
"""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from strakewright.parts import Mark, Part
from strakewright.solids import Body
from strakewright.write.view import page
from tests.write.test_view import BROWSER, box

DRIVE = """
<pre id="told"></pre><script>
const told = {errors: []};
window.addEventListener("error", (e) => told.errors.push(e.message));
const canvas = document.getElementById("boat"), rest = () => new Promise((r) => setTimeout(r, 120));
const say = (name) => { told[name] = document.querySelector("#chosen h2").textContent; };
const pen = (kind, id, x, y) => canvas.dispatchEvent(new PointerEvent("pointer" + kind,
  {pointerType: "touch", pointerId: id, clientX: x, clientY: y, button: 0, bubbles: true}));
const press = (key) => canvas.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true}));
const click = (x, y) => ["pointerdown", "pointerup"].forEach((kind) => canvas.dispatchEvent(new PointerEvent(kind,
  {pointerId: 1, clientX: x, clientY: y, button: 0, bubbles: true})));
canvas.setPointerCapture = () => {};
(async () => {
  STEPS
  document.getElementById("told").textContent = JSON.stringify(told);
})();
</script></body>
"""
PICK = """
  await rest(); document.querySelector("[data-view=side]").click(); await rest();
  const r = canvas.getBoundingClientRect();
  click(r.left + r.width / 2, r.top + r.height / 2); say("middle");
  press("Escape"); say("escaped"); press("n"); say("next"); press("n"); say("after"); press("b"); say("back");
  click(r.left + 3, r.top + 3); say("corner");
  press("n"); told.flat = document.querySelectorAll("svg.lying .frame").length;
  told.names = [...document.querySelectorAll("svg.lying text")].map((t) => t.textContent);
  told.offline = false;
  try { await fetch("https://example.org/"); } catch { told.offline = true; }
"""
TOUCH = """
  await rest(); document.querySelector("[data-view=side]").click(); await rest();
  const r = canvas.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
  const half = Math.PI / 0.008, between = y - 0.17 * r.height;  // 0.008 radians a pixel
  click(x, y); say("before");
  pen("down", 7, x, y); pen("move", 7, x + half, y); pen("up", 7, x + half, y); say("turning");
  click(x, y); say("turned");
  document.querySelector("[data-view=side]").click(); click(x, between); say("gap");
  pen("down", 7, x - 50, y); pen("down", 8, x + 50, y);
  for (let k = 1; k <= 50; k++) { pen("move", 7, x - 50 - 3 * k, y); pen("move", 8, x + 50 + 3 * k, y); }
  pen("up", 7, x - 200, y); pen("up", 8, x + 200, y); say("pinching");
  click(x, between); say("pinched");
"""
BOXES = """
  await rest(); document.querySelector("[data-view=side]").click(); await rest();
  const r = canvas.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
  for (const shown of ["verdict=easy", "layer=1", "course=1", "board=A7", "side=port"]) {
    const box = document.querySelector(`[data-show="${shown}"]`);
    box.click(); click(x, y); say(`${shown} off`);
    box.click(); click(x, y); say(`${shown} on`);
    const by = document.getElementById("by");
    by.value = shown.split("=")[0]; by.dispatchEvent(new Event("change"));
    const shades = [...document.querySelectorAll(".swatch")].filter((s) => !s.hidden);
    const colours = new Set(shades.map((s) => s.style.background));
    told[by.value] = [shades.every((s) => s.dataset.key === by.value), colours.size];
  }
"""
FRAMED = """
  const look = document.querySelector(".look"), head = () => document.querySelector("#chosen h2").textContent;
  const seen = (points) => [...new Set(points.map(([x, y]) => { click(x, y); return head(); }))].sort();
  const steps = [...Array(31).keys()].map((n) => n / 30);
  for (const view of ["home", "side", "keel", "bow"]) for (const shape of ["", "width:340px;height:700px"]) {
    look.style = shape;
    if (!shape) document.querySelector(`[data-view=${view}]`).click();
    window.dispatchEvent(new Event("resize"));
    const r = canvas.getBoundingClientRect();
    const at = (u, v) => [r.left + 2 + u * (r.width - 4), r.top + 2 + v * (r.height - 4)];
    const rim = steps.flatMap((s) => [at(s, 0), at(s, 1), at(0, s), at(1, s)]);
    told[view + (shape ? " turned" : "")] = [seen(rim), seen(steps.flatMap((u) => steps.map((v) => at(u, v)))).length];
  }
"""
ARTEFACTS = Path(__file__).parents[1] / "artefacts"  # pictures to look at after a run; git leaves them out
ROWS = "document.querySelectorAll('tbody tr')"
NO_WEBGL = "<script>HTMLCanvasElement.prototype.getContext = () => null;</script>"


def far(name: str, y: float, z: float, **info: str) -> Body:
    body = box(name, **info)
    return Body(name, body.vertices + np.array([0.0, y, z]), body.triangles, info)


BODIES = [
    far("NEAR", 400.0, 0.0, verdict="easy", layer="1", side="port", course="1", board="A7"),
    far("FAR", -400.0, 0.0, verdict="firm", layer="2", side="starboard", course="2", board="B1"),
    far("TOP", 0.0, 300.0, piece="frame"),
    far("LOW", 0.0, -300.0, piece="frame"),
]
PARTS = [
    Part(
        "NEAR",
        np.array([[0.0, 0], [1000, 0], [1000, 100], [0, 100]]),
        20.0,
        "ash",
        marks=(Mark("frame", "F7", np.array([[500.0, 0], [500, 100]])),),
    )
]


def run(folder: Path, steps: str, *more: str, first: str = "") -> bytes:
    text = page(BODIES, "Proof", PARTS).replace(
        "script-src 'unsafe-inline'", "script-src 'unsafe-inline'; connect-src *"
    )
    path = folder / "view.html"
    text = text.replace("<head>", "<head>" + first, 1).replace("</body>", DRIVE.replace("STEPS", steps))
    path.write_text(text, encoding="utf-8")
    command = [str(BROWSER), "--headless", "--no-sandbox", f"--user-data-dir={folder / 'profile'}"]
    command += ["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--host-resolver-rules=MAP * ~NOTFOUND"]
    command += ["--window-size=1100,800", "--virtual-time-budget=6000", *more, path.as_uri()]
    return subprocess.run(command, capture_output=True, timeout=120, check=True).stdout


def asked(folder: Path, steps: str) -> dict[str, Any]:
    """What the steps told of the page; skips where the browser cannot draw."""
    seen = run(folder, steps, "--dump-dom").decode()
    if "hidden" in seen.split("<canvas")[1].split(">")[0]:
        pytest.skip("this browser draws no WebGL 2 without a graphics card")
    told: dict[str, Any] = json.loads(seen.split('<pre id="told">')[1].split("</pre>")[0] or "{}")
    return told


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_a_click_on_a_known_plank_shows_it_and_keys_walk_through_all(tmp_path: Path) -> None:
    told = asked(tmp_path, PICK)
    assert told["errors"] == []
    assert told["offline"]
    assert told["middle"] == "NEAR"  # from port the near plank hides the far one behind it
    assert told["escaped"] == "No plank chosen"
    assert [told["next"], told["after"], told["back"]] == ["NEAR", "FAR", "NEAR"]
    assert told["corner"] == "No plank chosen"
    assert told["flat"] == 1
    assert told["names"] == ["F7"]


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_one_finger_turns_and_two_zoom(tmp_path: Path) -> None:
    told = asked(tmp_path, TOUCH)
    assert told["errors"] == []
    assert told["before"] == "NEAR"
    assert told["turning"] == "NEAR"  # a drag chooses nothing
    assert told["turned"] == "FAR"  # half a turn later starboard is in front
    assert told["gap"] == "No plank chosen"  # between NEAR and TOP
    assert told["pinching"] == "No plank chosen"
    assert told["pinched"] == "NEAR"  # four times as near, its upper edge has passed that place


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_every_box_hides_and_shows_its_pieces(tmp_path: Path) -> None:
    """By verdict, layer, course, board and side: the near plank gives way to the far one, and comes back."""
    told = asked(tmp_path, BOXES)
    assert told["errors"] == []
    for shown in ("verdict=easy", "layer=1", "course=1", "board=A7", "side=port"):
        assert [told[f"{shown} off"], told[f"{shown} on"]] == ["FAR", "NEAR"], shown
        own, shades = told[shown.split("=")[0]]
        assert own
        assert shades == 3  # two planks of a kind each, and what has none


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_every_view_holds_the_whole_boat_also_when_the_screen_is_turned(tmp_path: Path) -> None:
    told = asked(tmp_path, FRAMED)
    assert told["errors"] == []
    for view in ("home", "side", "keel", "bow"):
        for name in (view, f"{view} turned"):
            rim, inner = told[name]
            assert rim == ["No plank chosen"], name  # nothing is cut off by the edge
            assert inner >= 2, name  # and something is in the picture


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_without_webgl_the_picture_and_the_list_are_there(tmp_path: Path) -> None:
    seen = run(tmp_path, "rows[1].click(); say('row');".replace("rows", ROWS), "--dump-dom", first=NO_WEBGL).decode()
    told = json.loads(seen.split('<pre id="told">')[1].split("</pre>")[0])
    assert told == {"errors": [], "row": "FAR"}
    assert "hidden" in seen.split("<canvas")[1].split(">")[0]
    assert "hidden" not in seen.split('<figure id="picture"')[1].split(">")[0]
    assert "hidden" in seen.split('<span id="how"')[1].split(">")[0]  # nothing to drag
    assert "has no WebGL 2" in seen.split('id="why"')[1].split("<")[0]


SHOTS = {
    "all": "",
    "port only": "document.querySelector('[data-show=\"side=starboard\"]').click();",
    "apart": "const a = document.getElementById('apart'); a.value = 100; a.dispatchEvent(new Event('input'));",
    "by layer": "const b = document.getElementById('by'); b.value = 'layer'; b.dispatchEvent(new Event('change'));",
}


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
def test_switches_change_the_picture(tmp_path: Path) -> None:
    pictures = {}
    for name, steps in SHOTS.items():
        folder = tmp_path / name.replace(" ", "-")
        folder.mkdir()
        shot = folder / "shot.png"
        run(folder, steps, f"--screenshot={shot}")
        ARTEFACTS.mkdir(exist_ok=True)
        shutil.copy(shot, ARTEFACTS / f"view-{folder.name}.png")
        pictures[name] = np.asarray(Image.open(io.BytesIO(shot.read_bytes())).convert("RGB").crop((0, 60, 780, 600)))
    if len(np.unique(pictures["all"].reshape(-1, 3), axis=0)) < 4:
        pytest.skip("this browser draws no WebGL 2 without a graphics card")
    for name in ("port only", "apart", "by layer"):
        changed = np.any(pictures[name] != pictures["all"], axis=-1).mean()
        assert changed > 0.005, name


@pytest.mark.skipif(shutil.which("node") is None, reason="no node on this machine")
def test_the_script_is_sound_javascript(tmp_path: Path) -> None:
    script = page(BODIES, "Proof", PARTS).rsplit("<script>", 1)[1].split("</script>")[0]
    (tmp_path / "page.js").write_text(script, encoding="utf-8")
    subprocess.run(["node", "--check", str(tmp_path / "page.js")], check=True, timeout=30)
