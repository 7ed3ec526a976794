"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const rows = [...document.querySelectorAll("tbody tr")];
  let chosen = -1;
  let draw = () => {};

  // -- what is read when a plank is chosen: works without WebGL too ---------------------------------------
  const choose = (number, scroll) => {
    chosen = number;
    const box = $("chosen");
    box.replaceChildren();
    const head = document.createElement("h2");
    head.textContent = number < 0 ? "No plank chosen" : data.bodies[number].name;
    box.append(head);
    if (number >= 0) {
      const list = document.createElement("dl");
      for (const [key, value] of Object.entries(data.bodies[number].info)) {
        if (!value) continue;
        const name = document.createElement("dt"), said = document.createElement("dd");
        name.textContent = key;
        said.textContent = value;
        list.append(name, said);
      }
      box.append(list);
    }
    rows.forEach((row, i) => row.setAttribute("aria-selected", i === number));
    if (scroll && number >= 0) rows[number].scrollIntoView({ block: "nearest" });
    draw();
  };
  rows.forEach((row, i) => row.addEventListener("click", () => choose(i, false)));

  const canvas = $("boat");
  const gl = canvas.getContext("webgl2", { antialias: true });
  if (!gl) {
    $("why").textContent = "This browser has no WebGL 2: port side from abeam and from below. All planks are listed below.";
    return;
  }

  // -- the bodies ------------------------------------------------------------------------------------------
  const unpack = (text, Kind) => new Kind(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);
  const places = unpack(data.vertices, Uint16Array);
  const faces = unpack(data.triangles, Uint16Array);
  const lines = unpack(data.edges, Uint16Array);
  const { low, step } = data;
  const point = (i) => [0, 1, 2].map((k) => low[k] + step * places[3 * i + k]);
  const size = Math.hypot(...data.high.map((h, k) => h - low[k])) || 1;
  const middle = data.high.map((h, k) => (h + low[k]) / 2);
  for (const body of data.bodies) {
    const [v0, n] = body.vertices;
    body.points = Array.from({ length: n }, (_, i) => point(v0 + i));
    body.centre = [0, 1, 2].map((k) => body.points.reduce((sum, p) => sum + p[k], 0) / n);
    body.radius = Math.max(...body.points.map((p) => Math.hypot(...p.map((x, k) => x - body.centre[k]))));
    body.shown = true;
  }

  // -- groups: colour and visibility -------------------------------------------------------------------------
  const keys = data.keys.filter((key) => new Set(data.bodies.map((b) => b.info[key])).size > 1);
  const rank = (value) => Object.keys(data.colours).indexOf(value);
  const values = Object.fromEntries(keys.map((key) => [key, [...new Set(data.bodies.map((b) => b.info[key]))].sort((a, b) => rank(a) - rank(b) || a.localeCompare(b, "en", { numeric: true }))]));
  const hidden = new Set();
  const rgb = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
  const colourOf = (key, value) => data.colours[value] ?? data.groups[Math.max(0, (values[key] ?? []).indexOf(value)) % data.groups.length];
  const by = $("by");
  keys.forEach((key) => by.add(new Option(key, key)));
  const paint = () => {
    for (const body of data.bodies) {
      body.colour = rgb(colourOf(by.value, body.info[by.value]));
      body.shown = !keys.some((key) => hidden.has(key + "\n" + body.info[key]));
    }
    document.querySelectorAll(".swatch").forEach((s) => {
      s.hidden = s.dataset.key !== by.value;
      s.style.background = colourOf(s.dataset.key, s.dataset.value);
    });
    draw();
  };
  for (const key of keys) {
    const set = document.createElement("fieldset");
    set.className = values[key].length > 8 ? "many" : "";
    const legend = document.createElement("legend");
    legend.textContent = key;
    set.append(legend);
    for (const value of values[key]) {
      const label = document.createElement("label"), box = document.createElement("input"), swatch = document.createElement("span");
      box.type = "checkbox";
      box.checked = true;
      box.dataset.show = key + "=" + value;
      box.addEventListener("change", () => {
        hidden[box.checked ? "delete" : "add"](key + "\n" + value);
        paint();
      });
      swatch.className = "swatch";
      swatch.dataset.key = key;
      swatch.dataset.value = value;
      label.append(box, swatch, value);
      set.append(label);
    }
    $("groups").append(set);
  }
  by.addEventListener("change", paint);

  // -- the eye -------------------------------------------------------------------------------------------------
  const home = { turn: -2.2, lift: 0.42, away: 1.2 };
  const views = { home, side: { turn: Math.PI / 2, lift: 0, away: 1.3 }, keel: { turn: Math.PI / 2, lift: -1.55, away: 1.4 }, bow: { turn: 0, lift: 0.05, away: 1.1 } };
  const eye = { ...home, at: [...middle] };
  const FOV = 0.55;
  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const frame = () => {
    const out = [Math.cos(eye.lift) * Math.cos(eye.turn), Math.cos(eye.lift) * Math.sin(eye.turn), Math.sin(eye.lift)];
    const right = [-Math.sin(eye.turn), Math.cos(eye.turn), 0];
    return { out, right, up: cross(out, right), from: eye.at.map((c, k) => c + out[k] * eye.away * size) };
  };
  const matrix = () => {
    const { out, right, up, from } = frame(), aspect = canvas.width / canvas.height;
    const tall = 1 / (Math.tan(FOV / 2) * Math.max(1, 1.45 / aspect)), near = size * 0.01, far = size * 12;
    const a = (far + near) / (near - far), b = (2 * far * near) / (near - far);
    const rows = [right.map((v) => (v * tall) / aspect), up.map((v) => v * tall), out.map((v) => v * a), out.map((v) => -v)];
    const ends = [(-dot(right, from) * tall) / aspect, -dot(up, from) * tall, -dot(out, from) * a + b, dot(out, from)];
    return new Float32Array([0, 1, 2, 3].flatMap((c) => rows.map((row, r) => (c < 3 ? row[c] : ends[r]))));
  };
  let apart = 0;
  const shift = (body) => {
    const more = apart * (0.5 + 0.3 * (Number(body.info.layer) || 1));
    return [0, body.centre[1] * more, (body.centre[2] - middle[2]) * more];
  };

  // -- drawing -------------------------------------------------------------------------------------------------
  const VERTEX = `#version 300 es
    in vec3 place; uniform mat4 view; uniform vec3 low, shift, nudge; uniform float unit; out vec3 where;
    void main() { where = low + unit * place + shift; gl_Position = view * vec4(where + nudge, 1.0); }`;
  const FRAGMENT = `#version 300 es
    precision highp float; in vec3 where; uniform vec3 colour, look; uniform int mode; out vec4 shade;
    void main() {
      if (mode == 1) { shade = vec4(0.1, 0.1, 0.1, 1.0); return; }
      vec3 n = normalize(cross(dFdx(where), dFdy(where)));
      float light = 0.58 + 0.30 * abs(dot(n, look)) + 0.12 * abs(n.z);
      vec3 c = colour;
      if (mode == 2 && mod(gl_FragCoord.x + gl_FragCoord.y, 12.0) < 6.0) c = vec3(0.0);
      shade = vec4(c * light, 1.0);
    }`;
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.bindAttribLocation(program, 0, "place");
  gl.linkProgram(program);
  gl.useProgram(program);
  const slot = Object.fromEntries(["view", "low", "shift", "nudge", "unit", "colour", "look", "mode"].map((n) => [n, gl.getUniformLocation(program, n)]));
  const store = (target, content) => {
    const buffer = gl.createBuffer();
    gl.bindBuffer(target, buffer);
    gl.bufferData(target, content, gl.STATIC_DRAW);
    return buffer;
  };
  store(gl.ARRAY_BUFFER, places);
  const faceStore = store(gl.ELEMENT_ARRAY_BUFFER, faces), lineStore = store(gl.ELEMENT_ARRAY_BUFFER, lines);
  gl.enableVertexAttribArray(0);
  gl.enable(gl.DEPTH_TEST);
  gl.enable(gl.POLYGON_OFFSET_FILL);
  gl.polygonOffset(1, 1);
  gl.clearColor(0.984, 0.98, 0.969, 1);
  const pass = (buffer, shape, field, mode) => {
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
    data.bodies.forEach((body, i) => {
      if (!body.shown) return;
      gl.vertexAttribPointer(0, 3, gl.UNSIGNED_SHORT, false, 6, 6 * body.vertices[0]);
      gl.uniform3fv(slot.shift, shift(body));
      gl.uniform3fv(slot.colour, i === chosen ? [1, 1, 1] : body.colour);
      gl.uniform1i(slot.mode, mode(i));
      gl.drawElements(shape, body[field][1], gl.UNSIGNED_SHORT, 2 * body[field][0]);
    });
  };
  let waiting = false;
  const render = () => {
    waiting = false;
    const sharp = Math.min(2, window.devicePixelRatio || 1);
    const [w, h] = [Math.max(1, Math.round(canvas.clientWidth * sharp)), Math.max(1, Math.round(canvas.clientHeight * sharp))];
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
    gl.viewport(0, 0, w, h);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix4fv(slot.view, false, matrix());
    gl.uniform3fv(slot.low, low);
    gl.uniform1f(slot.unit, step);
    gl.uniform3fv(slot.look, frame().out);
    gl.uniform3fv(slot.nudge, [0, 0, 0]);
    pass(faceStore, gl.TRIANGLES, "triangles", (i) => (i === chosen ? 2 : 0));
    gl.uniform3fv(slot.nudge, frame().out.map((v) => v * 0.0007 * size)); // lines stand 4 mm off a 6 m boat
    pass(lineStore, gl.LINES, "edges", () => 1);
  };
  draw = () => {
    if (!waiting) requestAnimationFrame(render);
    waiting = true;
  };

  // -- picking: the nearest triangle under the pointer ----------------------------------------------------------
  const hit = (from, way, body) => {
    const away = shift(body), start = from.map((v, k) => v - away[k]), to = body.centre.map((c, k) => c - start[k]);
    const along = dot(to, way);
    if (dot(to, to) - along * along > body.radius * body.radius) return Infinity;
    let best = Infinity;
    for (let t = body.triangles[0]; t < body.triangles[0] + body.triangles[1]; t += 3) {
      const [a, b, c] = [0, 1, 2].map((k) => body.points[faces[t + k]]);
      const ab = b.map((v, k) => v - a[k]), ac = c.map((v, k) => v - a[k]), p = cross(way, ac), det = dot(ab, p);
      if (Math.abs(det) < 1e-9) continue;
      const s = start.map((v, k) => v - a[k]), u = dot(s, p) / det, q = cross(s, ab), v = dot(way, q) / det, far = dot(ac, q) / det;
      if (u >= 0 && v >= 0 && u + v <= 1 && far > 0 && far < best) best = far;
    }
    return best;
  };
  const pick = (x, y) => {
    const box = canvas.getBoundingClientRect(), aspect = box.width / box.height;
    const tall = Math.tan(FOV / 2) * Math.max(1, 1.45 / aspect);
    const sx = (2 * (x - box.left)) / box.width - 1, sy = 1 - (2 * (y - box.top)) / box.height;
    const { out, right, up, from } = frame();
    const ray = [0, 1, 2].map((k) => right[k] * sx * tall * aspect + up[k] * sy * tall - out[k]);
    const way = ray.map((v) => v / Math.hypot(...ray));
    let best = Infinity, found = -1;
    data.bodies.forEach((body, i) => {
      const far = body.shown ? hit(from, way, body) : Infinity;
      if (far < best) [best, found] = [far, i];
    });
    choose(found, false);
  };

  // -- hands ---------------------------------------------------------------------------------------------------
  const turn = (dx, dy) => {
    eye.turn -= dx;
    eye.lift = Math.max(-1.55, Math.min(1.55, eye.lift + dy));
    draw();
  };
  const zoom = (share) => {
    eye.away = Math.max(0.05, Math.min(5, eye.away * share));
    draw();
  };
  const slide = (dx, dy) => {
    const { right, up } = frame(), unit = (eye.away * size * Math.tan(FOV / 2) * 2) / canvas.clientHeight;
    eye.at = eye.at.map((c, k) => c - right[k] * dx * unit + up[k] * dy * unit);
    draw();
  };
  const goTo = (name) => {
    Object.assign(eye, views[name], { at: [...middle] });
    draw();
  };
  const fingers = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
    if (fingers.size === 1) moved = 0;
  });
  canvas.addEventListener("pointermove", (e) => {
    const before = fingers.get(e.pointerId);
    if (!before) return;
    const [dx, dy] = [e.clientX - before[0], e.clientY - before[1]];
    moved += Math.abs(dx) + Math.abs(dy);
    if (fingers.size === 2) {
      const other = [...fingers].find(([id]) => id !== e.pointerId)[1];
      const gap = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
      zoom(gap(before) / gap([e.clientX, e.clientY]));
      slide(dx / 2, dy / 2);
    } else if (e.buttons & 2 || e.shiftKey) slide(dx, dy);
    else turn(dx * 0.008, dy * 0.008);
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
  });
  const lift = (e) => {
    if (fingers.delete(e.pointerId) && e.type === "pointerup" && moved < 6 && e.button === 0 && !fingers.size) pick(e.clientX, e.clientY);
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    e.preventDefault();
    zoom(Math.exp(Math.max(-80, Math.min(80, e.deltaY)) * 0.003));
  }, { passive: false });
  const next = (way) => {
    const count = data.bodies.length;
    for (let k = 1; k <= count; k++) {
      const i = (((chosen < 0 && way < 0 ? 0 : chosen) + way * k) % count + count) % count;
      if (data.bodies[i].shown) return choose(i, false);
    }
  };
  const pressed = {
    ArrowLeft: () => turn(0.1, 0), ArrowRight: () => turn(-0.1, 0), ArrowUp: () => turn(0, 0.1), ArrowDown: () => turn(0, -0.1),
    "+": () => zoom(0.85), "=": () => zoom(0.85), "-": () => zoom(1.18), n: () => next(1), b: () => next(-1),
    Escape: () => choose(-1), 0: () => goTo("home"), 1: () => goTo("side"), 2: () => goTo("keel"), 3: () => goTo("bow"),
  };
  canvas.addEventListener("keydown", (e) => {
    const act = pressed[e.key.length === 1 ? e.key.toLowerCase() : e.key];
    if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    act();
  });
  document.querySelectorAll("[data-view]").forEach((b) => b.addEventListener("click", () => goTo(b.dataset.view)));
  $("apart").addEventListener("input", (e) => {
    apart = e.target.value / 100;
    draw();
  });
  canvas.addEventListener("webglcontextlost", () => {
    canvas.hidden = $("bar").hidden = true;
    $("picture").hidden = false;
  });
  window.addEventListener("resize", draw);

  canvas.hidden = $("bar").hidden = $("show").hidden = false;
  $("picture").hidden = true;
  paint();
})();
