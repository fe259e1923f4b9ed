"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const picture = document.getElementById("picture");
  const svg = picture.querySelector("svg");
  const chosen = document.getElementById("chosen");
  const all = (selector, from = document) => [...from.querySelectorAll(selector)];

  // What stands where: pieces of the picture by row, rows by line, lines by row.
  const pieces = new Map();
  for (const piece of all("[data-r]", svg)) {
    const row = +piece.dataset.r;
    if (!pieces.has(row)) pieces.set(row, []);
    pieces.get(row).push(piece);
  }
  const rowsOf = new Map();
  const linesOf = new Map();
  for (const [number, runs] of Object.entries(data.lines)) {
    const rows = [];
    for (const run of runs) {
      if (typeof run === "number") rows.push(run);
      else for (let row = run[0]; row <= run[1]; row++) rows.push(row);
    }
    rowsOf.set(+number, rows);
    for (const row of rows) {
      if (!linesOf.has(row)) linesOf.set(row, []);
      linesOf.get(row).push(+number);
    }
  }
  const rowsOfType = new Map();
  data.types.forEach((type, row) => {
    if (type < 0) return;
    if (!rowsOfType.has(type)) rowsOfType.set(type, []);
    rowsOfType.get(type).push(row);
  });
  const marked = [...linesOf.keys()].filter(row => pieces.has(row))
    .sort((a, b) => linesOf.get(a)[0] - linesOf.get(b)[0] || a - b);
  const rowsAskedBy = (pin) => {
    if (pin.dataset.line) return rowsOf.get(+pin.dataset.line) || [];
    if (pin.dataset.type) return rowsOfType.get(+pin.dataset.type) || [];
    return (pin.dataset.rows || "").split(" ").filter(Boolean).map(Number);
  };

  // The picture: which part of it is in view.
  const home = svg.viewBox.baseVal;
  const whole = { x: home.x, y: home.y, width: home.width, height: home.height };
  let view = { ...whole };
  const show = (next) => {
    const width = Math.min(whole.width, Math.max(whole.width / 60, next.width));
    const height = width * whole.height / whole.width;
    const within = (value, from, size, all) => Math.min(from + all - size, Math.max(from, value));
    view = {
      x: within(next.x + (next.width - width) / 2, whole.x, width, whole.width),
      y: within(next.y + (next.height - height) / 2, whole.y, height, whole.height), width, height,
    };
    svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.width} ${view.height}`);
  };
  const zoom = (factor, x = view.x + view.width / 2, y = view.y + view.height / 2) => show({
    x: x - (x - view.x) / factor, y: y - (y - view.y) / factor,
    width: view.width / factor, height: view.height / factor,
  });
  const fromScreen = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  // Where a piece lies in the picture's own coordinates, whatever part of it is in view.
  const boxOf = (piece) => {
    const box = piece.getBBox();
    const matrix = svg.getScreenCTM().inverse().multiply(piece.getScreenCTM());
    const corners = [[box.x, box.y], [box.x + box.width, box.y], [box.x, box.y + box.height], [box.x + box.width, box.y + box.height]]
      .map(([x, y]) => new DOMPoint(x, y).matrixTransform(matrix));
    const xs = corners.map(p => p.x), ys = corners.map(p => p.y);
    return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
  };

  // The choice: what is lit, ringed, told below the picture, and marked among the lines.
  const rings = document.createElementNS("http://www.w3.org/2000/svg", "g");
  svg.append(rings);
  let lit = [];
  let kept = [];
  const light = (rows) => {
    for (const piece of lit) piece.classList.remove("lit");
    lit = rows.flatMap(row => pieces.get(row) || []);
    for (const piece of lit) piece.classList.add("lit");
    rings.replaceChildren();
    if (lit.length > 60) return;
    for (const piece of lit) {
      const box = boxOf(piece);
      const ring = document.createElementNS(rings.namespaceURI, "circle");
      ring.setAttribute("class", "ring-lit");
      ring.setAttribute("cx", (box.left + box.right) / 2);
      ring.setAttribute("cy", (box.top + box.bottom) / 2);
      ring.setAttribute("r", Math.max(Math.hypot(box.right - box.left, box.bottom - box.top) / 2 + 3, view.width / 60));
      rings.append(ring);
    }
  };
  const into = (rows) => {
    const boxes = rows.flatMap(row => pieces.get(row) || []).slice(0, 400).map(boxOf);
    if (!boxes.length) return;
    const left = Math.min(...boxes.map(b => b.left)), right = Math.max(...boxes.map(b => b.right));
    const top = Math.min(...boxes.map(b => b.top)), bottom = Math.max(...boxes.map(b => b.bottom));
    if (left >= view.x && right <= view.x + view.width && top >= view.y && bottom <= view.y + view.height) return;
    const width = Math.max((right - left) * 1.4, (bottom - top) * 1.4 * whole.width / whole.height, view.width);
    const height = width * whole.height / whole.width;
    show({ x: (left + right - width) / 2, y: (top + bottom - height) / 2, width, height });
  };
  const element = (tag, text, attributes = {}) => {
    const made = document.createElement(tag);
    made.textContent = text;
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
  };
  const tell = (rows) => {
    chosen.replaceChildren();
    if (!rows.length) return;
    const box = document.createElement("div");
    const names = rows.slice(0, 30).map(row => data.refs[row]).join(", ");
    const more = rows.length > 30 ? ` and ${rows.length - 30} more` : "";
    box.append(element("b", names + more));
    const types = [...new Set(rows.map(row => data.types[row]))].filter(type => type >= 0);
    const line = types.length === 1 && document.querySelector(`#takers tr[data-type="${types[0]}"]`);
    if (line) {
      const heads = [...line.querySelectorAll("td.c-yes")].length;
      const answers = line.querySelectorAll("td.c-yes,td.c-no,td.c-open").length;
      const about = `${line.querySelector("th button").textContent}: ${line.querySelector("th small").textContent}`;
      box.append(element("div", about), element("div", answers ? `taken by ${heads} of ${answers} heads` : "not for placement heads"));
    }
    const numbers = [...new Set(rows.flatMap(row => linesOf.get(row) || []))].sort((a, b) => a - b);
    if (!numbers.length) box.append(element("div", "no findings"));
    for (const number of numbers.slice(0, 12)) {
      const found = document.getElementById(`line-${number}`);
      const text = found.cells[2].querySelector("bdi").textContent;
      const said = document.createElement("div");
      said.append(element("a", `${number}`, { href: `#line-${number}` }), ` ${text.slice(0, 200)}`);
      box.append(said);
    }
    chosen.append(box);
  };
  const choose = (rows, { pin = null, scroll = false } = {}) => {
    kept = rows;
    for (const other of all(".pin[aria-pressed=true]")) other.removeAttribute("aria-pressed");
    for (const line of all("tr.hit")) line.classList.remove("hit");
    if (pin) pin.setAttribute("aria-pressed", "true");
    into(rows);
    light(rows);
    tell(rows);
    const numbers = [...new Set(rows.flatMap(row => linesOf.get(row) || []))];
    for (const number of pin && pin.dataset.line ? [+pin.dataset.line] : numbers.slice(0, 200)) {
      document.getElementById(`line-${number}`).classList.add("hit");
    }
    if (scroll && numbers.length) {
      document.getElementById(`line-${Math.min(...numbers)}`).scrollIntoView({ block: "center" });
    } else if (scroll && rows.length) {
      const line = document.querySelector(`#takers tr[data-type="${data.types[rows[0]]}"]`);
      if (line) line.scrollIntoView({ block: "nearest" });
    }
  };

  // From the lines to the picture.
  document.querySelector("main").addEventListener("click", (event) => {
    const pin = event.target.closest(".pin");
    if (!pin) return;
    if (pin.getAttribute("aria-pressed") === "true") return choose([]);
    choose(rowsAskedBy(pin), { pin });
    const place = picture.getBoundingClientRect();
    if (place.bottom < 60 || place.top > innerHeight - 60) picture.scrollIntoView({ block: "center" });
  });
  const pinIn = (event) => {
    const line = event.target.closest("tr, li");
    return line && line.querySelector(".pin");
  };
  const main = document.querySelector("main");
  let under = null;
  main.addEventListener("pointerover", (event) => {
    const pin = pinIn(event);
    if (pin === under || event.pointerType === "touch") return;
    under = pin;
    light(pin ? rowsAskedBy(pin) : kept);
  });
  main.addEventListener("pointerleave", () => { under = null; light(kept); });

  // From the picture to the lines.
  const rowAt = (event) => {
    const piece = event.target.closest("[data-r]");
    return piece ? +piece.dataset.r : null;
  };
  let drag = null;
  svg.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    drag = { x: event.clientX, y: event.clientY, from: { ...view }, moved: false, row: rowAt(event), id: event.pointerId };
  });
  svg.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const dx = event.clientX - drag.x, dy = event.clientY - drag.y;
    if (!drag.moved && Math.hypot(dx, dy) < 5) return;
    if (!drag.moved) svg.setPointerCapture(drag.id);
    drag.moved = true;
    svg.classList.add("held");
    const scale = view.width / svg.getBoundingClientRect().width;
    show({ ...drag.from, x: drag.from.x - dx * scale, y: drag.from.y - dy * scale });
  });
  const release = () => {
    svg.classList.remove("held");
    if (drag && !drag.moved) choose(drag.row === null ? [] : [drag.row], { scroll: drag.row !== null });
    drag = null;
  };
  svg.addEventListener("pointerup", release);
  svg.addEventListener("pointercancel", () => { drag = null; svg.classList.remove("held"); });
  svg.addEventListener("dblclick", (event) => { const p = fromScreen(event); zoom(2, p.x, p.y); });
  svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && document.activeElement !== picture) return;
    event.preventDefault();
    const p = fromScreen(event);
    zoom(event.deltaY < 0 ? 1.25 : 0.8, p.x, p.y);
  }, { passive: false });
  let at = -1;
  picture.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (step && marked.length) {
      at = (at + step + marked.length) % marked.length;
      choose([marked[at]]);
    } else if (event.key === "Enter" && kept.length) {
      const number = Math.min(...kept.flatMap(row => linesOf.get(row) || []));
      const pin = Number.isFinite(number) && document.querySelector(`#line-${number} .pin`);
      if (pin) { pin.scrollIntoView({ block: "center" }); pin.focus(); }
    } else if (event.key === "+" || event.key === "=") zoom(1.5);
    else if (event.key === "-") zoom(1 / 1.5);
    else if (event.key === "0") show({ ...whole });
    else if (event.key === "Escape") choose([]);
    else return;
    event.preventDefault();
  });
  const press = (id, action) => document.getElementById(id).addEventListener("click", action);
  press("closer", () => {
    const boxes = kept.flatMap(row => pieces.get(row) || []).slice(0, 1).map(boxOf);
    if (!boxes.length) return zoom(1.5);
    const [box] = boxes;
    const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2, width = view.width / 1.5;
    show({ x: x - width / 2, y: y - view.height / 3, width, height: view.height / 1.5 });
  });
  press("farther", () => zoom(1 / 1.5));
  press("whole", () => show({ ...whole }));
  press("clear", () => choose([]));

  // The sieve: words and grades choose lines, types and bodies.
  const words = document.getElementById("words");
  const shown = document.getElementById("shown");
  const refs = data.refs.map(ref => ref.toLowerCase());
  const types = all("#takers tr[data-type]");
  const typeTexts = types.map(row => row.cells[0].textContent.toLowerCase());
  const lines = all("tr[data-line]").map(row => ({
    row, grade: row.closest("[data-grade]").dataset.grade, rows: rowsOf.get(+row.dataset.line) || [],
    text: `${row.closest("section.rule").getAttribute("aria-label") || ""} ${row.textContent}`.toLowerCase(),
  }));
  const questions = all("tr[data-words]").map(row => ({ row, text: row.textContent.toLowerCase() }));
  const blocks = all("section.rule");
  const far = (node, away) => { if (node.classList.contains("far") !== away) node.classList.toggle("far", away); };
  let thin = false;
  const sieve = () => {
    const asked = words.value.trim().toLowerCase();
    const grades = new Set(all("input[name=grade]:checked").map(box => box.value));
    const fits = new Uint8Array(refs.length);
    const typeFits = new Uint8Array(types.length);
    if (asked) {
      typeTexts.forEach((text, n) => { if (text.includes(asked)) typeFits[n] = 1; });
      refs.forEach((ref, row) => {
        const type = data.types[row];
        if (ref.includes(asked) || (type >= 0 && typeFits[type])) fits[row] = 1;
      });
      refs.forEach((ref, row) => { if (ref.includes(asked) && data.types[row] >= 0) typeFits[data.types[row]] = 1; });
    }
    let count = 0;
    for (const line of lines) {
      const here = grades.has(line.grade) && (!asked || line.text.includes(asked) || line.rows.some(row => fits[row]));
      if (here && asked) for (const row of line.text.includes(asked) ? line.rows : []) fits[row] = 1;
      far(line.row, !here);
      count += here;
    }
    types.forEach((row, n) => far(row, Boolean(asked) && !typeFits[n]));
    for (const question of questions) far(question.row, Boolean(asked) && !question.text.includes(asked));
    for (const block of blocks) far(block, !block.querySelector("tr[data-line]:not(.far)"));
    if (asked || thin) {
      for (const [row, drawn] of pieces) {
        const away = Boolean(asked) && !fits[row];
        for (const piece of drawn) if (piece.classList.contains("thin") !== away) piece.classList.toggle("thin", away);
      }
    }
    thin = Boolean(asked);
    shown.value = asked || grades.size < 3 ? `${count} of ${lines.length} lines` : "";
  };
  words.addEventListener("input", sieve);
  for (const box of all("input[name=grade]")) box.addEventListener("change", sieve);
  document.querySelector(".sieve").addEventListener("submit", event => event.preventDefault());
  for (const hidden of all(".sieve, .tools")) hidden.hidden = false;
})();
