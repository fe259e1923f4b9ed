"use strict";
// What the page does beyond its forms: files dropped, their progress, areas that fill, a few keys.
(() => {
  const body = document.body;
  const told = document.getElementById("told");
  const say = (text) => { told.textContent = text; };

  // Files: those of a drop are sent as those of the form are, with their folders in their names.
  const form = document.querySelector("form[data-bring], form[data-back]");
  const entriesOf = async (entry, path, found) => {
    if (entry.isFile) {
      const file = await new Promise((done, failed) => entry.file(done, failed));
      found.push([path + entry.name, file]);
    } else {
      const reader = entry.createReader();
      for (;;) {
        const some = await new Promise((done, failed) => reader.readEntries(done, failed));
        if (!some.length) break;
        for (const one of some) await entriesOf(one, path + entry.name + "/", found);
      }
    }
    return found;
  };
  const send = (files) => {
    const data = new FormData();
    for (const input of form.querySelectorAll("input:not([type=file]), textarea")) data.append(input.name, input.value);
    for (const [name, file] of files) data.append("files", file, name);
    const line = form.querySelector(".sending");
    const bar = line.querySelector("progress");
    const out = line.querySelector("output");
    line.hidden = false;
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("accept", "application/json");
    request.setRequestHeader("x-desk-sign", body.dataset.sign);
    request.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable) return;
      bar.value = event.loaded / event.total;
      out.textContent = Math.round(100 * bar.value) + " % sent";
    });
    request.addEventListener("load", () => {
      if (request.status === 200) { location.href = JSON.parse(request.responseText).location; return; }
      line.hidden = true;
      say(request.responseText);
    });
    request.addEventListener("error", () => { line.hidden = true; say("The desk does not answer; the files were not taken."); });
    request.send(data);
  };
  if (form) {
    const folder = form.querySelector(".folder");
    if (folder) folder.hidden = false;
    form.addEventListener("submit", (event) => {
      const files = [];
      for (const input of form.querySelectorAll("input[type=file]"))
        for (const file of input.files) files.push([file.webkitRelativePath || file.name, file]);
      event.preventDefault();
      if (files.length || form.querySelector("textarea")?.value.trim()) send(files); else say("Choose files first, or drop them on the page.");
    });
    let depth = 0;
    const holds = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
    addEventListener("dragenter", (event) => { if (holds(event)) { depth += 1; body.classList.add("over"); } });
    addEventListener("dragleave", (event) => { if (holds(event) && --depth <= 0) { depth = 0; body.classList.remove("over"); } });
    addEventListener("dragover", (event) => { if (holds(event)) event.preventDefault(); });
    addEventListener("drop", async (event) => {
      if (!holds(event)) return;
      event.preventDefault();
      depth = 0;
      body.classList.remove("over");
      // All of it is asked for before anything is waited for: afterwards the items are gone.
      const items = [...event.dataTransfer.items].filter((item) => item.kind === "file");
      const held = items.map((item) => [item.webkitGetAsEntry(), item.getAsFile()]);
      const files = [];
      for (const [entry, file] of held) {
        if (entry) await entriesOf(entry, "", files);
        else if (file) files.push([file.name, file]);
      }
      if (files.length) send(files);
    });
  }

  // What happens to the quote while the page is open.
  const here = body.dataset.here;
  let versions = null;
  let busy = null;
  const fill = async (name) => {
    const section = document.querySelector(`[data-area="${name}"]`);
    if (!section) return;
    const answer = await fetch(`${here}/areas/${name}${location.search}`);
    if (!answer.ok) return;
    const held = section.contains(document.activeElement) ? document.activeElement.id : "";
    const typed = name === "picture" ? section.querySelector("[data-find]")?.value : "";
    const open = [...section.querySelectorAll("details[open][id]")].map((one) => one.id);
    // What somebody is writing stays: another one's answer must not take it away.
    const written = [...section.querySelectorAll("input[id], textarea[id], select[id]")]
      .filter((one) => one.tagName === "SELECT" ? one.selectedIndex > 0 : one.value !== one.defaultValue)
      .map((one) => [one.id, one.value]);
    section.querySelector(".content").innerHTML = await answer.text();
    for (const [id, value] of written) { const at = document.getElementById(id); if (at) at.value = value; }
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    if (held) document.getElementById(held)?.focus({ preventScroll: true });
    if (typed) section.querySelector("[data-find]").value = typed;
    if (name === "picture") await picture.begin();
    section.classList.remove("fresh");
    requestAnimationFrame(() => section.classList.add("fresh"));
  };
  const show = (name, text) => { const at = document.querySelector(`[data-now="${name}"]`); if (at && at.textContent !== text) at.textContent = text; };
  const hear = (now) => {
    const state = document.querySelector('[data-now="state"]');
    if (state) { state.textContent = now.state; state.dataset.state = now.state; }
    if ("whole" in body.dataset) {
      show("phase", now.phase);
      for (const board of now.boards) {
        const at = document.querySelector(`p[data-board="${board.id}"]`);
        if (at) at.textContent = board.phase;
      }
      const sign = now.boards.map((board) => `${board.id}${board.open}`).join() + now.state;
      if (busy !== null && busy !== sign) location.reload();
      busy = sign;
      return;
    }
    const board = now.boards.find((one) => String(one.id) === body.dataset.board);
    if (!board) return;
    show("phase", board.phase);
    const bar = document.querySelector('[data-now="progress"]');
    bar.hidden = !board.open;
    if (board.of) { bar.max = board.of; bar.value = board.done; } else bar.removeAttribute("value");
    if (busy === null) busy = "open" in body.dataset;  // it may have ended before this was first heard
    if (busy === true && !board.open) say(board.told ? "The check came to nothing. " + board.told : "The check is done.");
    const ended = busy === true && !board.open;
    busy = board.open;
    const before = versions;
    versions = board.areas;
    for (const [name, version] of Object.entries(versions))
      if ((before && before[name] !== version) || (ended && !version)) fill(name);
  };
  if (body.dataset.events) {
    const source = new EventSource(body.dataset.events);
    source.addEventListener("now", (event) => hear(JSON.parse(event.data)));
    addEventListener("pagehide", () => source.close());
    addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
  }

  // The picture: parts under the pointer or chosen are told, found and stepped through; sides and zoom.
  const picture = (() => {
    let figure = null, svg = null, whole = "", parts = [], pieces = new Map(), hits = [], chosen = -1, side = "both";
    const section = document.getElementById("picture");
    const at = (selector) => section.querySelector(selector);
    const words = (row) => [parts[row][1], parts[row][2], parts[row][3]].filter(Boolean).join(" · ");
    const facts = (row) => [parts[row][4] || "size not known", parts[row][5], parts[row][6], parts[row][7] && "placed by " + parts[row][7]].filter(Boolean).join(" · ");
    const tell = (row) => {
      const lines = [document.createElement("p"), document.createElement("p")];
      const name = document.createElement("b");
      name.textContent = parts[row][0];
      lines[0].append(name, " ", words(row));
      lines[1].textContent = facts(row);
      at(".told-part").replaceChildren(...lines);
    };
    const shape = (w, h) => { svg.setAttribute("width", w); svg.setAttribute("height", h); };
    const view = (box) => svg.setAttribute("viewBox", box.map((n) => n.toFixed(1)).join(" "));
    const box = () => svg.getAttribute("viewBox").split(" ").map(Number);
    const placeOf = (piece) => {
      const inside = piece.getBBox(), m = svg.getScreenCTM().inverse().multiply(piece.getScreenCTM());
      return new DOMPoint(inside.x + inside.width / 2, inside.y + inside.height / 2).matrixTransform(m);
    };
    const zoom = (by, centre) => {
      if (!by) { showSide(side); return; }
      const [x, y, w, h] = box();
      const c = centre || (chosen >= 0 && pieces.get(chosen) ? placeOf(pieces.get(chosen)[0]) : { x: x + w / 2, y: y + h / 2 });
      const limits = whole.split(" ").map(Number);
      const nw = Math.min(w / by, limits[2]), nh = nw * h / w;
      view([c.x - (c.x - x) * nw / w, c.y - (c.y - y) * nh / h, nw, nh]);
      if (!centre && (c.x < box()[0] || c.x > box()[0] + nw || c.y < box()[1] || c.y > box()[1] + nh)) view([c.x - nw / 2, c.y - nh / 2, nw, nh]);
    };
    const showSide = (name) => {
      side = name;
      for (const group of svg.querySelectorAll(".side")) group.classList.toggle("away", name !== "both" && group.dataset.side !== name);
      for (const button of section.querySelectorAll("[data-side][aria-pressed]")) button.setAttribute("aria-pressed", String(button.dataset.side === name));
      const group = name !== "both" && svg.querySelector(`.side[data-side="${name}"]`);
      if (!group) { svg.setAttribute("viewBox", whole); shape(...whole.split(" ").slice(2)); return; }
      const [w, h] = group.dataset.size.split(" ").map(Number);
      const m = group.transform.baseVal[0].matrix;
      view([m.e - 24, m.f - 30, w + 48, h + 60]);
      shape(w + 48, h + 60);
    };
    const flip = () => { if (svg && svg.querySelectorAll(".side").length > 1) showSide(side === "top" ? "bottom" : "top"); };
    const choose = (row, keep) => {
      for (const piece of svg.querySelectorAll(".chosen")) piece.classList.remove("chosen");
      svg.querySelector(".pointer")?.remove();
      chosen = row;
      if (row < 0) return;
      const own = pieces.get(row) || [];
      for (const piece of own) piece.classList.add("chosen");
      if (own.length) {
        const where = own[0].closest(".side").dataset.side;
        if (side !== "both" && where !== side) showSide(where);
        const centre = placeOf(own[0]), ring = document.createElementNS(svg.namespaceURI, "circle");
        ring.setAttribute("class", "pointer");
        ring.setAttribute("cx", centre.x); ring.setAttribute("cy", centre.y); ring.setAttribute("r", 16);
        svg.append(ring);
        const [x, y, w, h] = box();
        if (centre.x < x || centre.x > x + w || centre.y < y || centre.y > y + h) view([centre.x - w / 2, centre.y - h / 2, w, h]);
      }
      tell(row);
      if (keep) {
        const address = new URL(location.href);
        address.searchParams.set("part", parts[row][0]);
        address.hash = "";
        if (String(address) !== location.href) history.pushState({ row }, "", address);
      }
    };
    const found = (text, shown) => parts.flatMap((part, row) => {
      const is = shown === "" || (shown.startsWith("=") ? part[6] === shown.slice(1) : part[7].split(", ").includes(shown));
      return is && text.every((word) => part.slice(0, 4).some((name) => name.toLowerCase().includes(word))) ? [row] : [];
    });
    const sieve = () => {
      const text = at("[data-find]").value.toLowerCase().split(/\s+/).filter(Boolean), shown = at("[data-lit]").value;
      const all = !text.length && !shown;
      hits = all ? [] : found(text, shown);
      const lit = new Set(hits);
      svg.classList.toggle("sieved", !all);
      for (const [row, own] of pieces) for (const piece of own) piece.classList.toggle("lit", lit.has(row));
      const list = at("[data-matches]");
      list.hidden = all;
      list.replaceChildren(all ? "" : hits.length === 1 ? "1 part: " : `${hits.length} parts${hits.length > 12 ? ", the first: " : ": "}`);
      for (const row of hits.slice(0, 12)) {
        const button = document.createElement("button");
        button.type = "button"; button.className = "ref"; button.textContent = parts[row][0];
        button.addEventListener("click", () => choose(row, true));
        list.append(button, " ");
      }
    };
    const step = (by) => {
      const among = hits.length ? hits : [...pieces.keys()].sort((a, b) => a - b);
      if (!among.length) return;
      const now = among.indexOf(chosen);
      choose(among[now < 0 ? (by > 0 ? 0 : among.length - 1) : (now + by + among.length) % among.length], true);
    };
    const options = () => {
      const select = at("[data-lit]"), was = select.value;
      const outcomes = [...new Set(parts.map((part) => part[6]).filter(Boolean))].sort();
      const heads = [...new Set(parts.flatMap((part) => part[7].split(", ")).filter(Boolean))].sort();
      const option = (value, text) => { const made = document.createElement("option"); made.value = value; made.textContent = text; return made; };
      select.replaceChildren(option("", "all parts"), ...outcomes.map((o) => option("=" + o, o)), ...heads.map((h) => option(h, "placed by " + h)));
      select.value = [...select.options].some((o) => o.value === was) ? was : "";
    };
    const begin = async () => {
      figure = section?.querySelector(".drawing");
      svg = figure?.querySelector("svg");
      if (!svg) return;
      const kept = { side, chosen: chosen >= 0 ? parts[chosen]?.[0] : null };
      whole = svg.getAttribute("viewBox");
      svg.setAttribute("preserveAspectRatio", "xMidYMid meet");
      pieces = new Map();
      for (const piece of svg.querySelectorAll("[data-r]")) {
        const row = Number(piece.dataset.r);
        pieces.has(row) ? pieces.get(row).push(piece) : pieces.set(row, [piece]);
      }
      for (const one of section.querySelectorAll("[data-scripted]")) one.hidden = false;
      at(".go").hidden = true;
      const answer = await fetch(figure.dataset.parts);
      parts = answer.ok ? await answer.json() : [];
      options();
      if (kept.side !== "both") showSide(kept.side);
      const row = kept.chosen ? parts.findIndex((part) => part[0] === kept.chosen) : Number(figure.dataset.row);
      if (row >= 0 && parts[row]) choose(row, false);
    };
    if (section) {
      section.addEventListener("pointerover", (event) => {
        const piece = event.target.closest?.("[data-r]");
        if (piece && parts[piece.dataset.r]) tell(Number(piece.dataset.r));
      });
      section.addEventListener("pointerout", (event) => { if (event.target.closest?.("[data-r]") && chosen >= 0) tell(chosen); });
      section.addEventListener("click", (event) => {
        const piece = event.target.closest?.(".drawing [data-r]"), button = event.target.closest?.("button");
        if (piece && parts[piece.dataset.r]) choose(Number(piece.dataset.r), true);
        else if (button?.dataset.side) showSide(button.dataset.side);
        else if (button?.dataset.zoom) zoom(Number(button.dataset.zoom));
      });
      let waits = 0;
      section.addEventListener("input", () => { cancelAnimationFrame(waits); waits = requestAnimationFrame(sieve); });
      section.addEventListener("submit", (event) => { event.preventDefault(); sieve(); step(1); });
      let drag = null;
      section.addEventListener("pointerdown", (event) => { if (svg?.contains(event.target) && event.pointerType !== "touch") drag = [event.clientX, event.clientY, box()]; });
      addEventListener("pointermove", (event) => {
        if (!drag) return;
        const [x, y, w, h] = drag[2], by = w / svg.clientWidth;
        view([x - (event.clientX - drag[0]) * by, y - (event.clientY - drag[1]) * by, w, h]);
      });
      addEventListener("pointerup", () => { drag = null; });
      section.addEventListener("keydown", (event) => {
        if (!event.target.classList.contains("drawing")) return;
        const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        if (by) { event.preventDefault(); step(by); }
      });
      addEventListener("popstate", () => {
        const name = new URL(location.href).searchParams.get("part"), row = parts.findIndex((part) => part[0] === name);
        if (svg) choose(row, false);
      });
      begin();
    }
    return { begin, choose: (row) => svg && parts[row] && choose(row, false), key: (key) => ({ n: () => step(1), p: () => step(-1), f: flip, "+": () => zoom(1.5), "-": () => zoom(0.667), 0: () => zoom(0) })[key] };
  })();

  // A question's part is shown on the picture.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("[data-show]");
    if (link) picture.choose(Number(link.dataset.show));
  });

  // Keys, as long as nothing is being written: n is the next question, and on the picture the next part.
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName)) return;
    const onPicture = document.activeElement.closest?.("#picture");
    if ((event.key === "n" && !onPicture) || event.key === "a") {
      const every = [...document.querySelectorAll(".question")];
      const at = every.findIndex((one) => one.contains(document.activeElement));
      if (!every.length) return;
      event.preventDefault();
      if (event.key === "n") every[(at + 1) % every.length].focus();
      else every[Math.max(at, 0)].querySelector(".answer select, .answer input:not([type=hidden])")?.focus();
    } else if (event.key === "/") {
      const field = document.querySelector("[data-find]");
      if (field) { event.preventDefault(); field.focus(); }
    } else if (document.querySelector("#picture svg")) picture.key(event.key)?.();
  });
})();
