  // Names, flags and gaps are drawn anew for each view: at one size, the most important first, never over one another.
  const LETTER = 6.8, BOLD = 7.7, TEXT = 11, LINE = 13, FLAG = 8;
  const WIDEST = 2.2; // How much longer than its body the name of a part may be that nothing is said of.
  const overlay = drawn("g", { class: "overlay" });
  svg.append(overlay);
  svg.classList.add("alive");
  const numberOf = new Map(all("[data-flag]", svg).map(flag => [+flag.dataset.flag, flag.querySelector("text").textContent]));
  const RANK = { fail: 3, warn: 2, open: 1 };

  // Which boxes on the screen are taken, by cells of a grid.
  const crowd = () => {
    const cells = new Map();
    const CELL = 48;
    const over = (box, each) => {
      for (let i = Math.floor(box.left / CELL); i <= box.right / CELL; i++) {
        for (let j = Math.floor(box.top / CELL); j <= box.bottom / CELL; j++) {
          const key = i * 4096 + j;
          if (!cells.has(key)) cells.set(key, []);
          if (each(cells.get(key))) return true;
        }
      }
      return false;
    };
    const meets = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
    return {
      isFree: box => !over(box, cell => cell.some(other => meets(box, other))),
      take: box => { over(box, (cell) => { cell.push(box); return false; }); },
    };
  };
  const around = (x, y, width, height) => ({ left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 });

  const layerText = row => layer === "findings" ? data.refs[row] : (layers[layer] || {}).text?.(row) ?? "";
  let layer = "findings";
  const layers = {};
  let isShown = () => true; // whether the sieve leaves a row
  let gradeOf = () => "";

  let named = []; // Each name in view: its row, and its box on the drawing.
  const label = () => {
    overlay.replaceChildren();
    named = [];
    const matrix = svg.getScreenCTM();
    if (!matrix) return;
    const unit = 1 / matrix.a;
    const taken = crowd();
    const seen = [];
    for (const row of pieces.keys()) {
      if (!isShown(row) && !kept.includes(row)) continue;
      const [box] = boxesOf(row);
      if (!box || box.right < view.x || box.left > view.x + view.width || box.bottom < view.y || box.top > view.y + view.height) continue;
      const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
      const width = (box.right - box.left) / unit, height = (box.bottom - box.top) / unit;
      const grade = gradeOf(row);
      seen.push({ row, x: x / unit, y: y / unit, width, height, grade, rank: (kept.includes(row) ? 8 : 0) + (RANK[grade] || 0) });
    }
    seen.sort((a, b) => b.rank - a.rank || b.width * b.height - a.width * a.height || a.row - b.row);
    const place = (text, at, attributes) => overlay.append(drawn("text", { x: at.x * unit, y: at.y * unit, dy: "0.36em", ...attributes }, text));
    if (layer === "findings") {
      for (const one of seen) {
        if (!numberOf.has(one.row) || !one.grade) continue;
        const [dx, dy] = [Math.min(one.width, 60) / 2 + FLAG, Math.min(one.height, 60) / 2 + FLAG];
        const spot = [[dx, -dy], [-dx, -dy], [dx, dy], [-dx, dy]].map(([a, b]) => around(one.x + a, one.y + b, 2 * FLAG, 2 * FLAG)).find(taken.isFree);
        if (!spot) continue; // It has room once the view is closer.
        taken.take(spot);
        const at = { x: (spot.left + spot.right) / 2, y: (spot.top + spot.bottom) / 2 };
        const group = drawn("g", { class: `flagged ${one.grade}`, "data-r": one.row });
        group.append(drawn("circle", { class: "flag", cx: at.x * unit, cy: at.y * unit, r: FLAG * unit }));
        group.append(drawn("text", { class: "flagtext", x: at.x * unit, y: at.y * unit, dy: "0.36em", style: `font-size:${9.5 * unit}px` }, numberOf.get(one.row)));
        overlay.append(group);
      }
    }
    for (const one of seen) {
      const text = layerText(one.row);
      const width = text.length * (one.grade ? BOLD : LETTER) + 3;
      if (!text || (!one.rank && width > WIDEST * Math.max(one.width, one.height))) continue;
      const spots = [[0, 0], [0, one.height / 2 + LINE / 2], [0, -one.height / 2 - LINE / 2], [(one.width + width) / 2, 0], [-(one.width + width) / 2, 0]];
      const spot = (one.rank ? spots : spots.slice(0, 1)).map(([dx, dy]) => around(one.x + dx, one.y + dy, width, LINE)).find(taken.isFree);
      if (!spot) continue;
      taken.take(spot);
      const [left, right, top, bottom] = [spot.left, spot.right, spot.top, spot.bottom].map(side => side * unit);
      named.push({ row: one.row, left, right, top, bottom });
      place(text, { x: (spot.left + spot.right) / 2, y: (spot.top + spot.bottom) / 2 }, {
        class: `name${one.grade ? ` of-${one.grade}` : ""}`, style: `font-size:${TEXT * unit}px;stroke-width:${2.6 * unit}px`,
      });
    }
    for (const [one, other, text] of gaps) {
      const [a] = boxesOf(one), [b] = boxesOf(other);
      if (!a || !b) continue;
      // The nearest points of the two boxes; of boxes that overlap in one direction, the middle of the overlap.
      const nearest = (a1, a2, b1, b2) => a2 < b1 ? [a2, b1] : b2 < a1 ? [a1, b2] : Array(2).fill((Math.max(a1, b1) + Math.min(a2, b2)) / 2);
      const [x1, x2] = nearest(a.left, a.right, b.left, b.right), [y1, y2] = nearest(a.top, a.bottom, b.top, b.bottom);
      overlay.append(drawn("path", { class: "gap", d: `M${x1} ${y1}L${x2} ${y2}`, "stroke-width": 2.4 * unit }));
      const below = Math.max(a.bottom, b.bottom) / unit + LINE;
      place(text, { x: (x1 + x2) / 2 / unit, y: below }, { class: "name of-gap", style: `font-size:${TEXT * unit}px;stroke-width:${2.6 * unit}px` });
    }
  };
  let kept = [];
  let gaps = [];
  followers.push(label);

  // Layers: one question at a time, told by tone and by the word on each body.
  const tone = (name) => {
    layer = layers[name] || name === "findings" ? name : "findings";
    svg.dataset.layer = layer;
    const chosen = layers[layer];
    for (const [row, drawnOf] of pieces) {
      const shade = chosen ? chosen.tone(row) : null;
      for (const piece of drawnOf) {
        if (shade) piece.dataset.tone = shade; else delete piece.dataset.tone;
      }
    }
    document.getElementById("tones").textContent = chosen ? chosen.legend : "";
    const select = document.getElementById("layer");
    if (select) select.value = layer;
    follow();
  };
  if (data.machines) {
    const of = row => data.types[row] < 0 ? null : data.taken[data.types[row]];
    layers.machine = {
      text: row => of(row) === null ? "" : of(row) >= 0 ? `${of(row) + 1}` : of(row) === -1 ? "?" : "hand",
      tone: row => of(row) === null ? null : of(row) >= 0 ? `t${of(row) % 5}` : of(row) === -1 ? "open" : "none",
      legend: `${data.machines.map((name, n) => `${n + 1} ${name}`).join(" · ")} · ?: none is proved to take it · hand: by hand`,
    };
  }
  const STEPS = [0.6, 1.2, 3, 6.5];
  const height = row => data.types[row] < 0 ? undefined : data.heights[data.types[row]];
  layers.height = {
    text: row => height(row) === undefined ? "" : height(row) === null ? "?" : `${height(row)}`,
    tone: row => height(row) === undefined ? null : height(row) === null ? "open" : `t${STEPS.filter(step => height(row) > step).length}`,
    legend: `greatest height in mm; tones change at ${STEPS.join(", ")}; ?: not known`,
  };
  layers.unproved = {
    text: row => gradeOf(row) ? data.refs[row] : "",
    tone: row => data.types[row] < 0 ? null : (linesOf.get(row) || []).some(line => data.grades[line] === "open") ? "open" : "none",
    legend: "dotted: something is not known of it; plain outline: all that was asked is decided",
  };
