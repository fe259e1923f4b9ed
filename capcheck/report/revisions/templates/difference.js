  // What is chosen: from a line to its parts in the picture, and from a part to its lines.
  const main = document.querySelector("main");
  const rings = drawn("g", {});
  svg.append(rings);
  let chosen = [];
  const ring = () => {
    rings.replaceChildren();
    for (const box of chosen.slice(0, 60).flatMap(boxesOf)) {
      rings.append(drawn("circle", {
        class: "ring-lit", cx: (box.left + box.right) / 2, cy: (box.top + box.bottom) / 2,
        r: Math.max(Math.hypot(box.right - box.left, box.bottom - box.top) / 2 + 3, view.width / 60),
      }));
    }
  };
  followers.push(ring);
  const rowsOf = pin => pin.dataset.rows.split(" ").filter(Boolean).map(Number);
  const choose = (rows, pin = null) => {
    for (const piece of all(".lit", svg)) piece.classList.remove("lit");
    for (const other of all(".pin[aria-pressed=true]")) other.removeAttribute("aria-pressed");
    for (const line of all(".hit", main)) line.classList.remove("hit");
    chosen = rows.filter(row => pieces.has(row));
    if (pin) pin.setAttribute("aria-pressed", "true");
    if (chosen.length && !chosen.some(row => boxesOf(row).length)) turnTo(sideOf(chosen[0]));
    for (const row of chosen) for (const piece of pieces.get(row)) piece.classList.add("lit");
    for (const other of all(".pin")) if (rowsOf(other).some(row => rows.includes(row))) other.closest("tr").classList.add("hit");
    ring();
  };
  main.addEventListener("click", (event) => {
    const pin = event.target.closest(".pin");
    if (!pin) return;
    if (pin.getAttribute("aria-pressed") === "true") return choose([]);
    choose(rowsOf(pin), pin);
    const place = picture.getBoundingClientRect();
    if (place.bottom < 60 || place.top > innerHeight - 60) picture.scrollIntoView({ block: "center" });
  });
  let drag = null;
  svg.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const piece = event.target.closest("[data-r]");
    drag = { x: event.clientX, y: event.clientY, from: { ...view }, moved: false, row: piece && +piece.dataset.r, id: event.pointerId };
  });
  svg.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const dx = event.clientX - drag.x, dy = event.clientY - drag.y;
    if (!drag.moved && Math.hypot(dx, dy) < 5) return;
    if (!drag.moved) svg.setPointerCapture(drag.id);
    drag.moved = true;
    const scale = view.width / svg.getBoundingClientRect().width;
    show({ ...drag.from, x: drag.from.x - dx * scale, y: drag.from.y - dy * scale });
  });
  svg.addEventListener("pointerup", () => {
    if (drag && !drag.moved) {
      choose(drag.row === null ? [] : [drag.row]);
      const line = main.querySelector(".hit");
      if (line) line.scrollIntoView({ block: "nearest" });
    }
    drag = null;
  });
  svg.addEventListener("pointercancel", () => { drag = null; });
  svg.addEventListener("dblclick", (event) => { const p = fromScreen(event); zoom(2, p.x, p.y); });
  picture.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "+" || event.key === "=") zoom(1.5);
    else if (event.key === "-") zoom(1 / 1.5);
    else if (event.key === "0") show({ ...whole });
    else if (event.key === "Escape") choose([]);
    else return;
    event.preventDefault();
  });
  const press = (id, action) => document.getElementById(id).addEventListener("click", action);
  press("closer", () => zoom(1.5));
  press("farther", () => zoom(1 / 1.5));
  press("whole", () => show({ ...whole }));
  press("clear", () => choose([]));
  for (const name of ["earlier", "later"]) {
    document.getElementById(name).addEventListener("change", event => svg.classList.toggle(`${name}-off`, !event.target.checked));
  }
  for (const box of all("input[name=side]")) box.addEventListener("change", () => { turnTo(box.value); ring(); });
  for (const tool of all(".tools")) tool.hidden = false;
  turnTo([...sides.entries()].sort((a, b) => all("[data-r]", b[1].group).length - all("[data-r]", a[1].group).length)[0][0]);

  // On paper both sides are shown whole.
  let before = null;
  addEventListener("beforeprint", () => { before = side; turnTo("both", { onPaper: true }); });
  addEventListener("afterprint", () => { if (before) turnTo(before); before = null; });
