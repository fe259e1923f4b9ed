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
    const open = [...section.querySelectorAll("details[open][id]")].map((one) => one.id);
    // What somebody is writing stays: another one's answer must not take it away.
    const written = [...section.querySelectorAll("input[id], textarea[id], select[id]")]
      .filter((one) => one.tagName === "SELECT" ? one.selectedIndex > 0 : one.value !== one.defaultValue)
      .map((one) => [one.id, one.value]);
    const focused = section.contains(document.activeElement) ? document.activeElement.id : "";
    section.querySelector(".content").innerHTML = await answer.text();
    for (const [id, value] of written) { const at = document.getElementById(id); if (at) at.value = value; }
    if (focused) document.getElementById(focused)?.focus();
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
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
    if (busy === true && !board.open) say("The check is done.");
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

  // A part under the pointer is named.
  document.addEventListener("pointerover", (event) => {
    const piece = event.target.closest?.(".drawing [data-r]");
    if (!piece) return;
    const figure = piece.closest(".drawing");
    const ref = figure.dataset.refs.split(" ")[Number(piece.dataset.r)];
    if (ref) figure.querySelector(".hover").textContent = ref;
  });

  // A question's part is shown on the picture.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("[data-show]");
    if (!link) return;
    for (const one of document.querySelectorAll(".drawing .shown")) one.classList.remove("shown");
    for (const one of document.querySelectorAll(`.drawing [data-r="${link.dataset.show}"]`)) one.classList.add("shown");
    const out = document.querySelector(".drawing .hover");
    if (out) out.textContent = link.textContent;
  });

  // Keys: n next question, a answer it; / finds, as long as nothing is being written.
  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(event.target.tagName)) return;
    if (event.key === "n" || event.key === "a") {
      const every = [...document.querySelectorAll(".question")];
      const at = every.findIndex((one) => one.contains(document.activeElement));
      if (!every.length) return;
      event.preventDefault();
      if (event.key === "n") every[(at + 1) % every.length].focus();
      else every[Math.max(at, 0)].querySelector(".answer select, .answer input:not([type=hidden])")?.focus();
    }
    if (event.key === "/") {
      const field = document.querySelector("[data-find]");
      if (field) { event.preventDefault(); field.focus(); }
    }
  });
})();
