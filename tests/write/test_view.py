"""Bodies against closed forms; the GLB by an independent reader; the page shut off from the world."""

from __future__ import annotations

import base64
import io
import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from strakewright.arrays import Floats
from strakewright.parts import Fit, Margin, Plank
from strakewright.solids import Body
from strakewright.write.bodies import bodies_of, body_of, ring_in_space
from strakewright.write.glb import glb_bytes
from strakewright.write.view import page, write_view

RADIUS, ARC, WIDE, THICK = 3000.0, 0.8, 90.0, 19.0


def on_cylinder(flat: Floats) -> Floats:
    """x of the flat runs round an upright cylinder, y goes up."""
    turn = flat[:, 0] / RADIUS
    return np.column_stack([RADIUS * np.sin(turn), RADIUS * np.cos(turn), flat[:, 1]])


def bent_plank(name: str = "P1.1", verdict: str = "easy") -> Plank:
    """A rectangle in the flat, wrapped round a cylinder of R 3 m."""
    x = np.linspace(0.0, RADIUS * ARC, 401)

    def rim(flat: Floats, meets: str) -> Margin:
        return Margin(meets, None, None, on_cylinder(flat), flat, flat, np.zeros(len(flat)))  # type: ignore[arg-type]

    low, up = np.column_stack([x, np.zeros_like(x)]), np.column_stack([x, np.full_like(x, WIDE)])
    ends = (rim(np.stack([low[-1], up[-1]]), "stem"), rim(np.stack([low[0], up[0]]), "transom"))
    ring = np.array([[0.0, 0], [RADIUS * ARC, 0], [RADIUS * ARC, WIDE], [0, WIDE]])
    fit = Fit(RADIUS, 1e-4, 0.0, 0.0, 0.0, 0.0, verdict, "R 3 m")  # type: ignore[arg-type]
    head = (name, "port", "side", 1, 1, 1, None, THICK, THICK + 1, "ash")
    return Plank(*head, *([ring] * 5), "inside", "spiled", rim(low, "seam"), rim(up, "seam"), ends, (), fit)  # type: ignore[arg-type]


def box(name: str = "box", **info: str) -> Body:
    solid = trimesh.creation.box([1000.0, 100.0, 20.0])
    return Body(name, np.asarray(solid.vertices), np.asarray(solid.faces), info)


def test_body_of_a_bent_plank_has_its_volume_and_is_closed() -> None:
    body = body_of(bent_plank(), "B7")
    solid = trimesh.Trimesh(body.vertices, body.triangles, process=False)
    assert solid.is_watertight
    # shell of half-thickness either side of R: area x thickness exactly; chords of 150 mm lose 0.01 %
    assert solid.volume == pytest.approx(RADIUS * ARC * WIDE * THICK, rel=1e-3)
    away = np.hypot(body.vertices[:, 0], body.vertices[:, 1])
    assert away == pytest.approx(np.where(away > RADIUS, RADIUS + THICK / 2, RADIUS - THICK / 2), abs=0.02)
    assert body.info["bend"] == "R 3.00 m"
    assert body.info["board"] == "B7"
    assert body.info["size"] == "2400 x 90 x 19 mm"


def test_margins_are_chained_whatever_their_order_and_direction() -> None:
    plank = bent_plank()
    old = plank.second
    back = replace(old, seam=old.seam[::-1], flat=old.flat[::-1], fitted=old.fitted[::-1], bevel=old.bevel[::-1])
    for other in (replace(plank, second=back), replace(plank, ends=plank.ends[::-1])):
        flat, space = ring_in_space(other)
        x, y = flat.T
        assert 0.5 * (x @ np.roll(y, -1) - np.roll(x, -1) @ y) == pytest.approx(RADIUS * ARC * WIDE)
        assert np.allclose(on_cylinder(flat), space)


def test_glb_is_read_by_another_reader_with_the_same_bounds() -> None:
    bodies = [*bodies_of([bent_plank()], {}), box(verdict="firm")]
    scene: Any = trimesh.load(io.BytesIO(glb_bytes(bodies, "Teasel")), file_type="glb")
    every = np.concatenate([body.vertices for body in bodies]) / 1000
    # Y up: x stays, z becomes Y, y becomes -Z
    low = [every[:, 0].min(), every[:, 2].min(), -every[:, 1].max()]
    high = [every[:, 0].max(), every[:, 2].max(), -every[:, 1].min()]
    assert np.allclose(scene.bounds, [low, high], atol=1e-6)
    assert set(scene.geometry) == {"P1.1", "box"}
    volume = sum(shape.volume for shape in scene.geometry.values())
    assert volume == pytest.approx(RADIUS * ARC * WIDE * THICK / 1e9 + 0.002, rel=1e-3)


def test_glb_is_whole_words_and_repeats() -> None:
    first = glb_bytes([box(verdict="refused")], "ÅB")
    assert first == glb_bytes([box(verdict="refused")], "ÅB")
    assert len(first) % 4 == 0
    assert int.from_bytes(first[8:12], "little") == len(first)
    held = json.loads(first[20 : 20 + int.from_bytes(first[12:16], "little")])
    assert [m["name"] for m in held["materials"]] == ["refused"]
    assert glb_bytes([], "empty")[:4] == b"glTF"


def test_page_asks_nothing_of_the_world() -> None:
    shown = page([box(verdict="easy", layer="1")], "Teasel")
    assert "default-src 'none'" in shown
    for way_out in (
        r"\bsrc\s*=",
        r"\bhref\s*=",
        r"url\(",
        r"@import",
        r"\bfetch\b",
        "XMLHttp",
        "WebSocket",
        "sendBeacon",
    ):
        assert not re.search(way_out, shown), way_out
    assert set(re.findall(r"https?://[^\"' ]+", shown)) <= {"http://www.w3.org/2000/svg"}


def test_page_holds_the_bodies_to_a_tenth_of_a_millimetre() -> None:
    bodies = [*bodies_of([bent_plank()], {}), box()]
    shown = page(bodies, "Teasel")
    data = json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', shown, re.S)[1])  # type: ignore[index]
    places = np.frombuffer(base64.b64decode(data["vertices"]), dtype="<u2").reshape(-1, 3)
    read = np.array(data["low"]) + data["step"] * places
    assert np.abs(read - np.concatenate([b.vertices for b in bodies])).max() < 0.05
    faces = np.frombuffer(base64.b64decode(data["triangles"]), dtype="<u2")
    for record, body in zip(data["bodies"], bodies, strict=True):
        at, n = record["triangles"]
        assert np.array_equal(faces[at : at + n].reshape(-1, 3), body.triangles)


def test_names_cannot_break_out_of_the_page() -> None:
    shown = page([box("<b>&", verdict="</script><script>alert(1)</script>")], "</title><script>")
    assert shown.count("<script") == 2
    assert "alert(1)</script>" not in shown
    assert "<td>&lt;b&gt;&amp;</td>" in shown


def test_a_body_too_large_to_show_is_refused() -> None:
    many = Body("big", np.zeros((65536, 3)), np.zeros((1, 3), dtype=np.int64))
    with pytest.raises(ValueError, match="65536 points"):
        page([many], "x")


def test_page_of_two_hundred_planks_is_small() -> None:
    bodies = [replace(body_of(bent_plank()), name=f"P{n}") for n in range(200)]
    assert len(page(bodies, "Teasel").encode()) < 1_500_000


def test_empty_boat_has_a_page() -> None:
    assert "0 pieces" in page([], "Nothing")


BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
@pytest.mark.parametrize("gl", [True, False])
def test_browser_shows_the_boat_or_the_picture(tmp_path: Path, gl: bool) -> None:
    write_view(
        tmp_path / "view.html", [box("B1", verdict="easy", layer="1"), box("B2", verdict="firm", layer="2")], "Teasel"
    )
    drive = "<script>document.querySelectorAll('tbody tr')[1].click()</script></body>"
    text = (tmp_path / "view.html").read_text(encoding="utf-8").replace("</body>", drive)
    (tmp_path / "view.html").write_text(text, encoding="utf-8")
    how = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"] if gl else ["--disable-gpu", "--disable-3d-apis"]
    command = [str(BROWSER), "--headless", "--no-sandbox", f"--user-data-dir={tmp_path / 'profile'}", *how]
    command += ["--dump-dom", (tmp_path / "view.html").as_uri()]
    seen = subprocess.run(command, capture_output=True, timeout=60, check=True).stdout.decode()
    canvas, picture = (re.search(tag, seen)[0] for tag in (r"<canvas[^>]*>", r'<figure id="picture"[^>]*>'))  # type: ignore[index]
    if gl and "hidden" in canvas:
        pytest.skip("this browser draws no WebGL 2 without a graphics card")
    assert ("hidden" in canvas) is not gl
    assert ("hidden" in picture) is gl
    assert "<h2>B2</h2>" in seen
    assert ('data-show="layer=2"' in seen) is gl


VALIDATE = (
    "require('gltf-validator').validateBytes(new Uint8Array(require('fs').readFileSync(process.argv[1])))"
    ".then((r) => console.log(JSON.stringify(r.issues)))"
)


def test_glb_passes_the_khronos_validator(tmp_path: Path) -> None:
    """Where npm's gltf-validator is at hand (NODE_PATH); otherwise by hand, see DEVELOPERS.md."""
    node = shutil.which("node")
    if (
        node is None
        or subprocess.run([node, "-e", "require('gltf-validator')"], check=False, capture_output=True).returncode
    ):
        pytest.skip("gltf-validator is not on this machine")
    (tmp_path / "a.glb").write_bytes(glb_bytes([*bodies_of([bent_plank()], {}), box(verdict="firm")], "Proof"))
    told = subprocess.run([node, "-e", VALIDATE, str(tmp_path / "a.glb")], capture_output=True, check=True, timeout=60)
    assert json.loads(told.stdout)["messages"] == []
