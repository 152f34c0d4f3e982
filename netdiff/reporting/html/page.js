"use strict";
// Everything in the page can be read without this. It finds, filters, lights up, and shows a part beside the rest.
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const byId = (id) => document.getElementById(id);
  const all = (what, within = document) => [...within.querySelectorAll(what)];
  const panel = byId("panel");
  const title = byId("panel-title");
  const overview = byId("overview");
  const say = (text) => { byId("status").textContent = text; };
  const words = (text) => (text || "").split(" ").filter(Boolean);

  // --- lighting up --------------------------------------------------------------------------------------------------
  const drawn = new Map(); // designator or point -> the elements that show it
  const add = (key, element) => drawn.has(key) ? drawn.get(key).push(element) : drawn.set(key, [element]);
  for (const one of all("svg [data-part], .tiles [data-part]")) add(one.dataset.part, one);
  for (const one of all("svg [data-point], svg [data-points]")) {
    for (const point of words(`${one.dataset.point || ""} ${one.dataset.points || ""}`)) add(point, one);
  }
  let lit = [];

  function dark() {
    for (const one of lit) one.classList.remove("lit");
    for (const one of all(".halo")) one.remove();
    lit = [];
  }

  function light(keys) {
    dark();
    for (const key of keys) {
      for (const one of drawn.get(key) || []) {
        one.classList.add("lit");
        lit.push(one);
        if (one.tagName === "g" && !one.classList.contains("run")) halo(one);
      }
    }
    return lit.length;
  }

  function halo(group) {
    const box = group.getBBox();
    if (!box.width && !box.height) return;
    const rect = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    for (const [name, value] of Object.entries({ x: box.x - 4, y: box.y - 4, width: box.width + 8, height: box.height + 8 })) {
      rect.setAttribute(name, value);
    }
    rect.setAttribute("class", "halo");
    group.insertBefore(rect, group.firstChild);
  }

  function lightFinding(finding) {
    const parts = words(finding.dataset.parts);
    const count = light([...parts, ...words(finding.dataset.points)]);
    finding.classList.add("lit");
    lit.push(finding);
    const sheet = finding.closest(".card")?.querySelector(".sheet");
    if (sheet) {
      sheet.scrollIntoView({ block: "nearest" });
      const first = sheet.querySelector(".halo");
      if (first) middle(sheet, first);
    }
    say(count ? `${finding.id}: ${parts.join(", ")} lit up in the drawings.` : `${finding.id}: no drawing shows its parts.`);
  }

  // --- one part, beside the page ------------------------------------------------------------------------------------
  let back = null;
  let shown = "";
  const entries = new Map(all(".item[data-name]").map((one) => [one.dataset.name, one]));

  function show(name, move = true) {
    const entry = entries.get(name);
    if (!entry) return false;
    if (panel.hidden) back = document.activeElement;
    const copy = entry.cloneNode(true);
    copy.querySelector("h4").remove();
    byId("panel-body").replaceChildren(...copy.childNodes);
    title.textContent = entry.querySelector("h4").textContent;
    shown = name;
    panel.hidden = false;
    panel.scrollTop = 0;
    light([name]);
    byId("panel-show").hidden = !inOverview(name);
    say(`${name} is shown beside the page.`);
    if (move) title.focus({ preventScroll: true });
    return true;
  }

  function close() {
    if (panel.hidden) return;
    panel.hidden = true;
    dark();
    say("");
    if (back && back.isConnected) back.focus({ preventScroll: true });
  }

  const inOverview = (name) => (drawn.get(name) || []).find((one) => overview && overview.contains(one));

  function middle(sheet, element) {
    const there = element.getBoundingClientRect();
    const frame = sheet.getBoundingClientRect();
    sheet.scrollLeft += there.left + there.width / 2 - frame.left - frame.width / 2;
    sheet.scrollTop += there.top + there.height / 2 - frame.top - frame.height / 2;
  }

  function bring(element) {
    middle(overview, element);
    overview.scrollIntoView({ block: "center" });
  }

  byId("panel-close").addEventListener("click", close);
  byId("panel-show").addEventListener("click", () => bring(inOverview(shown)));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { close(); dark(); }
  });

  let dragged = false;
  document.addEventListener("click", (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.altKey || event.button) return;
    if (dragged) { dragged = false; return; }
    const light = event.target.closest("a.light");
    const part = event.target.closest("[data-part]");
    const link = event.target.closest("a, button, input, label, summary");
    if (light) { event.preventDefault(); lightFinding(light.closest(".finding")); }
    else if (part && (!link || link === part)) { if (show(part.dataset.part)) event.preventDefault(); }
    else if (!link) {
      const finding = event.target.closest(".finding");
      if (finding && getSelection().isCollapsed) lightFinding(finding);
    } else if (link.closest("#panel") && link.hash) { panel.hidden = true; }
  });

  // --- search -------------------------------------------------------------------------------------------------------
  const field = byId("find-part");
  const known = [...entries.keys()];

  function nearest(text) {
    const length = (a, b) => { let n = 0; while (n < a.length && a[n] === b[n]) n += 1; return n; };
    const score = (name) => 3 * length(name.replace("?", ""), text) - Math.abs(name.length - text.length);
    return known.reduce((best, name) => (score(name) > score(best) ? name : best), known[0]);
  }

  function find() {
    const text = field.value.trim().toUpperCase().split(".")[0];
    if (!text) return;
    const name = [text, `?${text}`].find((one) => entries.has(one));
    if (name) { show(name); const there = inOverview(name); if (there) bring(there); }
    else say(`There is no part ${field.value.trim().slice(0, 40)}${known.length ? `; the nearest is ${nearest(text)}` : ""}.`);
  }

  byId("find").addEventListener("submit", (event) => { event.preventDefault(); find(); });
  field.addEventListener("input", (event) => { if (!event.inputType || event.inputType === "insertReplacementText") find(); });

  // --- filter by hold -----------------------------------------------------------------------------------------------
  const filter = byId("filter");
  if (filter) {
    filter.addEventListener("change", () => {
      const on = new Set(all("input:checked", filter).map((box) => box.value));
      for (const one of all("[data-hold]")) one.classList.toggle("out", !on.has(one.dataset.hold));
      const cards = all(".card");
      const left = cards.filter((card) => !card.classList.contains("out")).length;
      say(`${left} of ${cards.length} modifications shown. On paper they all are.`);
    });
  }

  // --- the whole unit: scrolling moves it, this changes its size --------------------------------------------------------
  if (overview) {
    const svg = overview.querySelector("svg");
    const clamp = (size) => Math.min(12, Math.max(0.3, size));
    let size = 1;

    function zoom(to, x = overview.clientWidth / 2, y = overview.clientHeight / 2) {
      const before = svg.getBoundingClientRect();
      const frame = overview.getBoundingClientRect();
      const u = (x - before.left + frame.left) / before.width;
      const v = (y - before.top + frame.top) / before.height;
      size = clamp(to);
      svg.style.minWidth = "0";
      svg.style.width = `${overview.clientWidth * size}px`;
      const after = svg.getBoundingClientRect();
      overview.scrollLeft = u * after.width - x;
      overview.scrollTop = v * after.height - y;
    }

    for (const button of all("[data-zoom]")) {
      button.addEventListener("click", () => zoom(Number(button.dataset.zoom) ? size * button.dataset.zoom : 1));
    }
    overview.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey) return;
      const factor = { "+": 1.4, "=": 1.4, "-": 0.714 }[event.key];
      if (factor) { event.preventDefault(); zoom(size * factor); }
    });
    overview.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      const frame = overview.getBoundingClientRect();
      zoom(size * Math.exp(-event.deltaY / 300), event.clientX - frame.left, event.clientY - frame.top);
    }, { passive: false });

    let start = null;
    overview.addEventListener("pointerdown", (event) => {
      if (event.pointerType === "mouse" && event.button === 0) {
        start = { x: event.clientX, y: event.clientY, left: overview.scrollLeft, top: overview.scrollTop };
        dragged = false;
      }
    });
    addEventListener("pointermove", (event) => {
      if (!start) return;
      const [dx, dy] = [event.clientX - start.x, event.clientY - start.y];
      if (!dragged && Math.hypot(dx, dy) < 5) return;
      dragged = true;
      overview.classList.add("dragging");
      overview.scrollLeft = start.left - dx;
      overview.scrollTop = start.top - dy;
    });
    addEventListener("pointerup", () => {
      start = null;
      overview.classList.remove("dragging");
      setTimeout(() => { dragged = false; });
    });

    const apart = (touches) => Math.hypot(touches[0].clientX - touches[1].clientX, touches[0].clientY - touches[1].clientY);
    let pinch = null;
    overview.addEventListener("touchstart", (event) => {
      pinch = event.touches.length === 2 ? { apart: apart(event.touches), size } : null;
    }, { passive: true });
    overview.addEventListener("touchmove", (event) => {
      if (!pinch || event.touches.length !== 2) return;
      event.preventDefault();
      const frame = overview.getBoundingClientRect();
      const [a, b] = event.touches;
      zoom(pinch.size * apart(event.touches) / pinch.apart,
        (a.clientX + b.clientX) / 2 - frame.left, (a.clientY + b.clientY) / 2 - frame.top);
    }, { passive: false });
  }
})();
