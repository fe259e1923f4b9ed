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
  let grades = new Set();
  // What the sieve hides of a row is hidden in the picture as well.
  const grave = { fail: 3, warn: 2, open: 1 };
  gradeOf = row => (linesOf.get(row) || []).map(line => data.grades[line]).filter(grade => grades.has(grade))
    .sort((a, b) => grave[b] - grave[a])[0] || "";
  const sieve = () => {
    const asked = words.value.trim().toLowerCase();
    grades = new Set(all("input[name=grade]:checked").map(box => box.value));
    for (const [row, drawnOf] of pieces) {
      const grade = linesOf.has(row) ? gradeOf(row) || "none" : "";
      for (const piece of drawnOf) if (grade) piece.dataset.grade = grade;
    }
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
    const left = new Set(lines.filter(line => !line.row.classList.contains("far")).map(line => line.row.dataset.line));
    for (const item of index.children) item.hidden = !left.has(item.dataset.line);
    isShown = row => !asked || Boolean(fits[row]);
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
    follow();
    shown.value = asked || grades.size < 3 ? `${count} of ${lines.length} lines` : "";
  };
  words.addEventListener("input", sieve);
  for (const box of all("input[name=grade]")) box.addEventListener("change", sieve);
  document.querySelector(".sieve").addEventListener("submit", event => event.preventDefault());
  for (const hidden of all(".sieve, .tools, #index")) hidden.hidden = false;
  for (const box of all("label.side")) box.hidden = sides.size < 2;

  // The address holds what is shown, so that a link or a reload shows the same.
  const standing = () => {
    const said = new URLSearchParams();
    if (words.value) said.set("q", words.value);
    if (grades.size < 3) said.set("grades", [...grades].join(" "));
    if (sides.size > 1) said.set("side", side);
    if (layer !== "findings") said.set("layer", layer);
    if (landsBox?.checked) said.set("lands", "1");
    if (atLine !== null) said.set("line", atLine);
    else if (kept.length && kept.length < 30) said.set("parts", kept.join(" "));
    if (view.width < whole.width * 0.999) said.set("view", [view.x, view.y, view.width].map(n => n.toFixed(1)).join(" "));
    return said;
  };
  let told = false;
  followers.push(() => {
    const now = `${standing()}`;
    if (told || /[=]/.test(location.hash) || standing().size > (sides.size > 1 ? 1 : 0)) {
      told = true;
      history.replaceState(null, "", now ? `#${now}` : location.pathname + location.search);
    }
  });
  const fullest = [...sides.entries()].sort((a, b) => +b[1].group.dataset.parts - +a[1].group.dataset.parts)[0][0];
  const first = stations.length ? sideOf(rowsOf.get(stations[0]).find(row => pieces.has(row))) : fullest;
  const asked = new URLSearchParams(location.hash.includes("=") ? location.hash.slice(1) : "");
  words.value = asked.get("q") || "";
  if (asked.has("grades")) for (const box of all("input[name=grade]")) box.checked = asked.get("grades").split(" ").includes(box.value);
  sieve();
  turnTo(asked.get("side") || first);
  tone(asked.get("layer") || "findings");
  if (landsBox && asked.has("lands")) showLands(landsBox.checked = true);
  const rows = (asked.get("parts") || "").split(" ").filter(row => row && pieces.has(+row)).map(Number);
  if (asked.has("line") && pinOf(+asked.get("line"))) goTo(+asked.get("line"));
  else if (rows.length) choose(rows);
  const place = (asked.get("view") || "").split(" ").map(Number);
  if (place.length === 3 && place.every(Number.isFinite)) show({ x: place[0], y: place[1], width: place[2], height: place[2] * whole.height / whole.width });
  new ResizeObserver(follow).observe(svg);

  // On paper both sides are shown whole, with the names that are part of the drawing.
  let before = null;
  addEventListener("beforeprint", () => { before = side; turnTo("both", { onPaper: true }); });
  addEventListener("afterprint", () => { if (before) turnTo(before); before = null; });
