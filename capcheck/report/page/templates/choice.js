  // The choice: what is lit, ringed, told below the picture, and marked among the lines; and the ways to choose.
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
  const chosen = document.getElementById("chosen");
  const rowsAskedBy = (pin) => {
    if (pin.dataset.line) return rowsOf.get(+pin.dataset.line) || [];
    if (pin.dataset.type) return rowsOfType.get(+pin.dataset.type) || [];
    return (pin.dataset.rows || "").split(" ").filter(Boolean).map(Number);
  };

  const rings = drawn("g", {});
  svg.append(rings);
  let lit = [];
  const light = (rows) => {
    for (const piece of lit) piece.classList.remove("lit");
    lit = rows.flatMap(row => pieces.get(row) || []);
    for (const piece of lit) piece.classList.add("lit");
    ring();
  };
  const ring = () => {
    rings.replaceChildren();
    if (lit.length > 60) return;
    for (const piece of lit) {
      if (isBeneath(piece)) continue;
      const box = boxOf(piece);
      rings.append(drawn("circle", {
        class: "ring-lit", cx: (box.left + box.right) / 2, cy: (box.top + box.bottom) / 2,
        r: Math.max(Math.hypot(box.right - box.left, box.bottom - box.top) / 2 + 3, view.width / 60),
      }));
    }
  };
  followers.push(ring);
  const into = (rows) => {
    const drawnRows = rows.filter(row => pieces.has(row));
    if (drawnRows.length && !drawnRows.some(row => boxesOf(row).length)) turnTo(sideOf(drawnRows[0]));
    const boxes = rows.slice(0, 400).flatMap(boxesOf);
    if (!boxes.length) return;
    const left = Math.min(...boxes.map(b => b.left)), right = Math.max(...boxes.map(b => b.right));
    const top = Math.min(...boxes.map(b => b.top)), bottom = Math.max(...boxes.map(b => b.bottom));
    if (left >= view.x && right <= view.x + view.width && top >= view.y && bottom <= view.y + view.height) return;
    const width = Math.max((right - left) * 1.4, (bottom - top) * 1.4 * whole.width / whole.height, view.width);
    const height = width * whole.height / whole.width;
    show({ x: (left + right - width) / 2, y: (top + bottom - height) / 2, width, height });
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
      box.append(element("div", about), element("div", answers ? `${heads} of ${answers} heads can place it` : "not for placement heads"));
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
  let atLine = null;
  const choose = (rows, { pin = null, scroll = false } = {}) => {
    kept = rows;
    gaps = (pin && data.gaps[pin.dataset.line]) || [];
    for (const other of all(".pin[aria-pressed=true]")) other.removeAttribute("aria-pressed");
    for (const line of all("tr.hit")) line.classList.remove("hit");
    if (pin) pin.setAttribute("aria-pressed", "true");
    into(rows);
    light(rows);
    tell(rows);
    const numbers = [...new Set(rows.flatMap(row => linesOf.get(row) || []))];
    atLine = pin && pin.dataset.line ? +pin.dataset.line : null;
    follow();
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
    const row = piece ? +piece.dataset.r : null;
    if (event.target.closest(".flagged")) return row;
    const { x, y } = fromScreen(event);
    const name = named.find(one => one.left <= x && x <= one.right && one.top <= y && y <= one.bottom);
    if (!name) return row;
    // Of a name and a body beneath it, the smaller one is meant: a body under another's name can be reached too.
    const area = box => (box.right - box.left) * (box.bottom - box.top);
    return piece && area(boxOf(piece)) < area(name) ? row : name.row;
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
    const [box] = kept.flatMap(boxesOf);
    if (!box) return zoom(1.5);
    const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2, width = view.width / 1.5;
    show({ x: x - width / 2, y: y - view.height / 3, width, height: view.height / 1.5 });
  });
  press("farther", () => zoom(1 / 1.5));
  press("whole", () => show({ ...whole }));
  press("clear", () => choose([]));
  for (const box of all("input[name=side]")) box.addEventListener("change", () => { turnTo(box.value); light(kept); });
  const landsBox = document.getElementById("lands");
  const showLands = (shown) => { svg.classList.toggle("with-lands", shown); follow(); };
  landsBox?.addEventListener("change", () => showLands(landsBox.checked));
  document.getElementById("layer").addEventListener("change", event => tone(event.target.value));

  // From finding to finding, by a strip of small boards below the picture and by the keys n and p.
  const pinOf = line => document.querySelector(`#line-${line} .pin`);
  const stations = [...rowsOf.keys()].filter(line => rowsOf.get(line).some(row => pieces.has(row)));
  const index = document.getElementById("index");
  const goTo = (line) => {
    const pin = pinOf(line);
    if (!pin) return;
    choose(rowsOf.get(line), { pin });
    document.getElementById(`line-${line}`).scrollIntoView({ block: "nearest" });
  };
  const step = (by) => {
    const open = stations.filter(line => document.getElementById(`line-${line}`).offsetParent !== null);
    if (!open.length) return;
    const at = open.indexOf(atLine);
    goTo(open[at < 0 ? (by > 0 ? 0 : open.length - 1) : (at + by + open.length) % open.length]);
  };
  const MOST_SMALL = 24, MOST_DOTS = 80;
  const small = (line) => {
    const rows = rowsOf.get(line).filter(row => pieces.has(row));
    const here = sides.get(sideOf(rows[0]));
    const board = drawn("svg", { viewBox: `0 0 ${here.width} ${here.height}`, "aria-hidden": "true" });
    const contour = here.group.querySelector(".board, .nocontour").cloneNode(false);
    contour.removeAttribute("class");
    contour.setAttribute("class", "small-board");
    board.append(contour);
    const r = Math.max(here.width, here.height) / 28;
    for (const row of rows.slice(0, MOST_DOTS)) {
      if (sideOf(row) !== here.group.dataset.side) continue;
      const [cx, cy] = data.at[row];
      board.append(drawn("circle", { class: `dot-${data.grades[line]}`, cx, cy, r }));
    }
    const button = element("button", "", { type: "button", title: document.getElementById(`line-${line}`).cells[2].querySelector("bdi").textContent.slice(0, 160) });
    button.append(board, element("span", `${line}`, { class: `k-${data.grades[line]}` }));
    button.addEventListener("click", () => goTo(line));
    const item = element("li", "", { "data-line": line });
    item.append(button);
    return item;
  };
  index.append(...stations.slice(0, MOST_SMALL).map(small));
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    if (event.key === "n") step(1);
    else if (event.key === "p") step(-1);
    else if (event.key === "f" && sides.size > 1) { turnTo([...sides.keys()].find(name => name !== side)); light(kept); }
    else if (event.key === "/") document.getElementById("words").focus();
    else return;
    event.preventDefault();
  });

