  // The picture: one side at a time, what part of it is in view, and where each row's pieces lie in it.
  const SVG_NAMES = "http://www.w3.org/2000/svg";
  const data = JSON.parse(document.getElementById("data").textContent);
  const picture = document.getElementById("picture");
  const svg = picture.querySelector("svg");
  const all = (selector, from = document) => [...from.querySelectorAll(selector)];
  const element = (tag, text = "", attributes = {}) => {
    const made = document.createElement(tag);
    made.textContent = text;
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    return made;
  };
  const drawn = (tag, attributes, text = "") => {
    const made = document.createElementNS(SVG_NAMES, tag);
    for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
    made.textContent = text;
    return made;
  };

  const pieces = new Map();
  for (const piece of all("[data-r]", svg)) {
    const row = +piece.dataset.r;
    if (!pieces.has(row)) pieces.set(row, []);
    pieces.get(row).push(piece);
  }
  const sides = new Map(all("g.side", svg).map((group) => {
    const [width, height] = group.dataset.size.split(" ").map(Number);
    const [x, y] = group.getAttribute("transform").match(/-?[\d.]+/g).map(Number);
    return [group.dataset.side, { group, x, y, width, height, place: group.getAttribute("transform") }];
  }));
  const every = svg.viewBox.baseVal;
  const whole0 = { x: every.x, y: every.y, width: every.width, height: every.height };
  const MARGIN = 12, HEADING = 26;
  let whole = whole0;
  let view = { ...whole };
  let side = "both";

  // What else follows the view: labels, and the address.
  const followers = [];
  let waits = false;
  const follow = () => {
    if (waits) return;
    waits = true;
    requestAnimationFrame(() => { waits = false; for (const each of followers) each(); });
  };
  const show = (next) => {
    const width = Math.min(whole.width, Math.max(whole.width / 60, next.width));
    const height = width * whole.height / whole.width;
    const within = (value, from, size, all) => Math.min(from + all - size, Math.max(from, value));
    view = {
      x: within(next.x + (next.width - width) / 2, whole.x, width, whole.width),
      y: within(next.y + (next.height - height) / 2, whole.y, height, whole.height), width, height,
    };
    svg.setAttribute("viewBox", `${view.x} ${view.y} ${view.width} ${view.height}`);
    follow();
  };
  const zoom = (factor, x = view.x + view.width / 2, y = view.y + view.height / 2) => show({
    x: x - (x - view.x) / factor, y: y - (y - view.y) / factor,
    width: view.width / factor, height: view.height / factor,
  });
  const fromScreen = event => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

  // Where a piece lies in the picture's own coordinates, whatever part of it is in view.
  const boxes = new Map();
  const boxOf = (piece) => {
    if (boxes.has(piece)) return boxes.get(piece);
    const box = piece.getBBox();
    const matrix = svg.getScreenCTM().inverse().multiply(piece.getScreenCTM());
    const corners = [[box.x, box.y], [box.x + box.width, box.y], [box.x, box.y + box.height], [box.x + box.width, box.y + box.height]]
      .map(([x, y]) => new DOMPoint(x, y).matrixTransform(matrix));
    const xs = corners.map(p => p.x), ys = corners.map(p => p.y);
    const found = { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
    boxes.set(piece, found);
    return found;
  };
  const isBeneath = piece => piece.closest("g.side").classList.contains("beneath");
  const boxesOf = (row) => (pieces.get(row) || []).filter(piece => !isBeneath(piece)).map(boxOf);

  // One side fills the frame; the other lies faint beneath it, mirrored as one sees it through the board.
  const BETWEEN = 2 * MARGIN;
  const beside = () => {
    // Two views next to each other, for paper; where the board is a strip they stay one below the other.
    const [first, second] = [...sides.values()];
    if (!second || first.width > 2.2 * first.height) return whole0;
    const x = first.x + first.width + BETWEEN;
    second.group.setAttribute("transform", `translate(${x} ${first.y})`);
    return {
      x: first.x - MARGIN, y: first.y - HEADING,
      width: first.width + second.width + BETWEEN + 2 * MARGIN, height: Math.max(first.height, second.height) + HEADING + MARGIN,
    };
  };
  const turnTo = (name, { onPaper = false } = {}) => {
    side = sides.has(name) && sides.size > 1 ? name : sides.size > 1 ? "both" : [...sides.keys()][0];
    boxes.clear();
    for (const each of sides.values()) {
      each.group.setAttribute("transform", each.place);
      each.group.classList.remove("beneath");
    }
    const upper = sides.get(side);
    if (upper) {
      for (const [other, lower] of sides) {
        if (other === side) continue;
        lower.group.classList.add("beneath");
        lower.group.setAttribute("transform", `translate(${upper.x + upper.width} ${upper.y}) scale(-1 1)`);
        upper.group.before(lower.group);
      }
    }
    whole = upper ? {
      x: upper.x - MARGIN, y: upper.y - HEADING,
      width: upper.width + 2 * MARGIN, height: upper.height + HEADING + MARGIN,
    } : onPaper ? beside() : whole0;
    // The frame takes the shape of what it shows.
    svg.setAttribute("width", whole.width);
    svg.setAttribute("height", whole.height);
    for (const box of all("input[name=side]")) box.checked = box.value === side;
    show({ ...whole });
  };
  const sideOf = (row) => pieces.has(row) ? pieces.get(row)[0].closest("g.side").dataset.side : "";
