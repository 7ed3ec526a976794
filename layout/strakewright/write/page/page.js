"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const rows = [...document.querySelectorAll("tbody tr")];
  let chosen = -1;
  let draw = () => {};

  // -- a plank as it lies on the board, inside face up ----------------------------------------------------
  const drawn = (kind, keys, parent) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", kind);
    for (const [key, value] of Object.entries(keys)) made.setAttribute(key, value);
    parent.append(made);
    return made;
  };
  const lying = (flat) => {
    const wide = Math.max(...flat.ring.map((p) => p[0])), tall = Math.max(...flat.ring.map((p) => p[1]));
    const size = Math.max(wide / 55, tall / 8), pad = size / 2;
    const turn = ([x, y]) => [x, tall - y];
    const svg = drawn("svg", { class: "lying", role: "img", viewBox: [-pad, -pad, wide + 2 * pad, tall + 2 * pad + 1.5 * size].join(" ") }, document.createDocumentFragment());
    drawn("title", {}, svg).textContent = "lying flat, inside face up";
    const line = (points, close) => drawn("path", { d: "M" + points.map(turn).join("L") + (close ? "Z" : ""), class: close ? "edge" : "frame" }, svg);
    line(flat.ring, true);
    for (const [name, points] of flat.marks) {
      line(points, false);
      const low = points.reduce((a, p) => (p[1] < a[1] ? p : a));
      drawn("text", { x: turn(low)[0], y: tall + pad + 1.2 * size, "font-size": size, "text-anchor": "middle" }, svg).textContent = name;
    }
    return svg;
  };

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
    const flat = number < 0 ? undefined : data.flats[data.bodies[number].name];
    if (flat) $("flat").replaceChildren(lying(flat));
    else $("flat").textContent = number < 0 ? "Choose a plank to see it lying flat, inside face up." : "This piece has no flat line to cut.";
    rows.forEach((row, i) => row.setAttribute("aria-selected", i === number));
    if (scroll && number >= 0) rows[number].scrollIntoView({ block: "nearest" });
    draw();
  };
  rows.forEach((row, i) => row.addEventListener("click", () => choose(i, false)));

  const canvas = $("boat");
  const gl = canvas.getContext("webgl2", { antialias: false });
  if (!gl) {
    $("why").textContent = "This browser has no WebGL 2: port side from abeam and from below. All planks are listed below.";
    return;
  }

  // -- the bodies ------------------------------------------------------------------------------------------
  const unpack = (text, Kind) => new Kind(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);
  const places = unpack(data.vertices, Uint16Array);
  const faces = unpack(data.triangles, Uint16Array);
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

  const said = (body, key) => body.info[key] ?? "other";

  // -- groups: colour and visibility -------------------------------------------------------------------------
  const keys = data.keys.filter((key) => new Set(data.bodies.map((b) => said(b, key))).size > 1);
  const rank = (value) => Object.keys(data.colours).indexOf(value);
  const values = Object.fromEntries(keys.map((key) => [key, [...new Set(data.bodies.map((b) => said(b, key)))].sort((a, b) => rank(a) - rank(b) || a.localeCompare(b, "en", { numeric: true }))]));
  const hidden = new Set();
  const rgb = (hex) => [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
  const colourOf = (key, value) => (value === "other" ? "#BBBBBB" : data.colours[value]) ?? data.groups[Math.max(0, (values[key] ?? []).indexOf(value)) % data.groups.length];
  const by = $("by");
  keys.forEach((key) => by.add(new Option(key, key)));
  const paint = () => {
    for (const body of data.bodies) {
      body.colour = rgb(colourOf(by.value, said(body, by.value)));
      body.shown = !keys.some((key) => hidden.has(key + "\n" + said(body, key)));
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
  const views = { home: [-2.2, 0.42], side: [Math.PI / 2, 0], keel: [Math.PI / 2, -1.55], bow: [0, 0.05] };
  const eye = { turn: 0, lift: 0, away: 1, at: [...middle] };
  const FOV = 0.55;
  let apart = 0;
  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const frame = () => {
    const out = [Math.cos(eye.lift) * Math.cos(eye.turn), Math.cos(eye.lift) * Math.sin(eye.turn), Math.sin(eye.lift)];
    const right = [-Math.sin(eye.turn), Math.cos(eye.turn), 0];
    return { out, right, up: cross(out, right), from: eye.at.map((c, k) => c + out[k] * eye.away * size) };
  };
  const matrix = () => {
    const { out, right, up, from } = frame(), aspect = canvas.clientWidth / canvas.clientHeight;
    const tall = 1 / Math.tan(FOV / 2), gap = dot(from.map((v, k) => v - middle[k]), out);
    const half = size * (0.52 + apart), near = Math.max(size * 0.01, gap - half), far = Math.max(near * 1.1, gap + half);
    const a = (far + near) / (near - far), b = (2 * far * near) / (near - far);
    const rows = [right.map((v) => (v * tall) / aspect), up.map((v) => v * tall), out.map((v) => v * a), out.map((v) => -v)];
    const ends = [(-dot(right, from) * tall) / aspect, -dot(up, from) * tall, -dot(out, from) * a + b, dot(out, from)];
    return new Float32Array([0, 1, 2, 3].flatMap((c) => rows.map((row, r) => (c < 3 ? row[c] : ends[r]))));
  };
  const shift = (body) => {
    const more = apart * (0.5 + 0.3 * (Number(body.info.layer) || 1));
    return [0, body.centre[1] * more, (body.centre[2] - middle[2]) * more];
  };

  // -- drawing: first every plank with its number in alpha, then a dark line wherever the number changes ----------
  const VERTEX = `#version 300 es
    in vec3 place; uniform mat4 view; uniform vec3 low, shift; uniform float unit; out vec3 where;
    void main() { where = low + unit * place + shift; gl_Position = view * vec4(where, 1.0); }`;
  const FRAGMENT = `#version 300 es
    precision highp float; in vec3 where; uniform vec3 colour, look; uniform float number, chosen; out vec4 shade;
    void main() {
      vec3 n = normalize(cross(dFdx(where), dFdy(where)));
      float light = 0.58 + 0.30 * abs(dot(n, look)) + 0.12 * abs(n.z);
      bool stripe = chosen > 0.0 && mod(gl_FragCoord.x + gl_FragCoord.y, 12.0 * chosen) < 6.0 * chosen;
      shade = vec4(stripe ? vec3(0.0) : colour * light, number);
    }`;
  const WHOLE = `#version 300 es
    void main() { gl_Position = vec4(gl_VertexID == 1 ? 3.0 : -1.0, gl_VertexID == 2 ? 3.0 : -1.0, 0.0, 1.0); }`;
  const LINES = `#version 300 es
    precision highp float; uniform sampler2D drawn; uniform int fine; out vec4 shade;
    void main() {
      ivec2 last = textureSize(drawn, 0) - 1;
      vec3 sum = vec3(0.0);
      for (int i = 0; i < fine * fine; i++) {
        ivec2 at = ivec2(gl_FragCoord.xy) * fine + ivec2(i % fine, i / fine);
        vec4 here = texelFetch(drawn, min(at, last), 0);
        vec4 up = texelFetch(drawn, min(at + ivec2(0, 1), last), 0), right = texelFetch(drawn, min(at + ivec2(1, 0), last), 0);
        vec4 down = texelFetch(drawn, max(at - ivec2(0, 1), ivec2(0)), 0), left = texelFetch(drawn, max(at - ivec2(1, 0), ivec2(0)), 0);
        vec4 others = abs(vec4(up.a, right.a, down.a, left.a) - here.a);
        sum += dot(others, others) > 0.0 ? vec3(0.1) : here.rgb;
      }
      shade = vec4(sum / float(fine * fine), 1.0);
    }`;
  const made = (texts) => {
    const program = gl.createProgram();
    texts.forEach((text, i) => {
      const shader = gl.createShader(i ? gl.FRAGMENT_SHADER : gl.VERTEX_SHADER);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    });
    gl.bindAttribLocation(program, 0, "place");
    gl.linkProgram(program);
    return program;
  };
  const solid = made([VERTEX, FRAGMENT]), flat = made([WHOLE, LINES]);
  const slots = (program, names) => Object.fromEntries(names.map((n) => [n, gl.getUniformLocation(program, n)]));
  const slot = slots(solid, ["view", "low", "shift", "unit", "colour", "look", "number", "chosen"]);
  const flatSlot = slots(flat, ["drawn", "fine"]);
  for (const [target, content] of [[gl.ARRAY_BUFFER, places], [gl.ELEMENT_ARRAY_BUFFER, faces]]) {
    gl.bindBuffer(target, gl.createBuffer());
    gl.bufferData(target, content, gl.STATIC_DRAW);
  }
  const sheet = gl.createTexture(), depth = gl.createRenderbuffer(), board = gl.createFramebuffer();
  gl.bindTexture(gl.TEXTURE_2D, sheet);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  const PAPER = [0.984, 0.98, 0.969, 0];
  const resize = (w, h, fine) => {
    [canvas.width, canvas.height] = [w, h];
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, w * fine, h * fine, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
    gl.bindRenderbuffer(gl.RENDERBUFFER, depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, w * fine, h * fine);
    gl.bindFramebuffer(gl.FRAMEBUFFER, board);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, sheet, 0);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, depth);
  };
  const bodies = (fine) => {
    gl.uniformMatrix4fv(slot.view, false, matrix());
    gl.uniform3fv(slot.low, low);
    gl.uniform1f(slot.unit, step);
    gl.uniform3fv(slot.look, frame().out);
    data.bodies.forEach((body, i) => {
      if (!body.shown) return;
      gl.vertexAttribPointer(0, 3, gl.UNSIGNED_SHORT, false, 6, 6 * body.vertices[0]);
      gl.uniform3fv(slot.shift, shift(body));
      gl.uniform3fv(slot.colour, i === chosen ? [1, 1, 1] : body.colour);
      gl.uniform1f(slot.number, (1 + ((i * 97) % 251)) / 255); // neighbours differ
      gl.uniform1f(slot.chosen, i === chosen ? fine : 0);
      gl.drawElements(gl.TRIANGLES, body.triangles[1], gl.UNSIGNED_SHORT, 2 * body.triangles[0]);
    });
  };
  let waiting = false;
  const render = () => {
    waiting = false;
    const sharp = Math.min(2, window.devicePixelRatio || 1), fine = sharp < 1.5 ? 2 : 1;
    const [w, h] = [Math.max(1, Math.round(canvas.clientWidth * sharp)), Math.max(1, Math.round(canvas.clientHeight * sharp))];
    if (canvas.width !== w || canvas.height !== h || !resize.done) resize(w, h, fine);
    resize.done = true;
    gl.bindFramebuffer(gl.FRAMEBUFFER, board);
    gl.viewport(0, 0, w * fine, h * fine);
    gl.enable(gl.DEPTH_TEST);
    gl.enableVertexAttribArray(0);
    gl.clearColor(...PAPER);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.useProgram(solid);
    bodies(fine);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, w, h);
    gl.disable(gl.DEPTH_TEST);
    gl.disableVertexAttribArray(0);
    gl.useProgram(flat);
    gl.uniform1i(flatSlot.drawn, 0);
    gl.uniform1i(flatSlot.fine, fine);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
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
    const tall = Math.tan(FOV / 2);
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
  let standing = ""; // the view asked for by name, until a hand moves it
  const turn = (dx, dy) => {
    standing = "";
    eye.turn -= dx;
    eye.lift = Math.max(-1.55, Math.min(1.55, eye.lift + dy));
    draw();
  };
  const zoom = (share) => {
    standing = "";
    eye.away = Math.max(0.05, Math.min(5, eye.away * share));
    draw();
  };
  const slide = (dx, dy) => {
    standing = "";
    const { right, up } = frame(), unit = (eye.away * size * Math.tan(FOV / 2) * 2) / canvas.clientHeight;
    eye.at = eye.at.map((c, k) => c - right[k] * dx * unit + up[k] * dy * unit);
    draw();
  };
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((n) => [0, 1, 2].map((k) => (n & (1 << k) ? data.high : data.low)[k]));
  const spread = () => {
    const m = matrix(), seen = corners.map((c) => [0, 1, 3].map((r) => m[r] * c[0] + m[4 + r] * c[1] + m[8 + r] * c[2] + m[12 + r]));
    const range = (k) => seen.map((p) => p[k] / p[2]);
    return [0, 1].map((k) => [Math.min(...range(k)), Math.max(...range(k))]);
  };
  const goTo = (name) => {
    const [turn, lift] = views[name];
    Object.assign(eye, { turn, lift, away: 0.7, at: [...middle] });
    for (let tries = 0; tries < 120; tries++) {
      const [across, tall] = spread(), off = [across, tall].map((r) => (r[0] + r[1]) / 2);
      const fits = Math.max(across[1] - across[0], tall[1] - tall[0]) < 1.84;
      if (fits && Math.hypot(...off) < 0.02) break;
      slide(-0.2 * off[0] * canvas.clientWidth, 0.2 * off[1] * canvas.clientHeight); // less than half: near ends move more
      if (!fits) eye.away *= 1.05;
    }
    standing = name;
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
    for (const name of ["boat", "bar", "how", "keys"]) $(name).hidden = true;
    $("picture").hidden = false;
  });
  const reframe = () => (standing ? goTo(standing) : draw()); // a turned phone still shows the whole boat
  window.addEventListener("resize", reframe);
  new ResizeObserver(reframe).observe(canvas);

  for (const name of ["boat", "bar", "show", "flat", "how", "keys"]) $(name).hidden = false;
  $("picture").hidden = true;
  paint();
  goTo("home");
})();
