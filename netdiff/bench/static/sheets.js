// Answers that need more than one touch: what lands here, exceptions, values, readings, notes, photographs.
// Each sheet is built anew, and resolves with the fields to send, or null.

import { ask, el } from "./asking.js";
import { step } from "./keys.js";

const CONDITIONS = ["charred", "leaking", "cracked", "frayed", "corroded", "loose", "floating", "cold-joint"];
const CONDUCTORS = ["wire", "bare", "bus", "shielded", "coax", "twisted", "strap", "bolted"];
const PAGE = 8;

let pending = null;

function open(title, ...inside) {
  const dialog = document.getElementById("sheet"), form = dialog.querySelector("form");
  pending?.(false);      // a sheet that was left a moment ago, and whose closing has not been told yet
  dialog.returnValue = "";
  form.replaceChildren(el("h2", { id: "sheet-h" }, title), ...inside);
  for (const legend of form.querySelectorAll("legend")) legend.classList.toggle("hidden-label", legend.textContent === title);
  dialog.showModal();
  const first = form.querySelector("input:not([type=file]), textarea, [data-group] button");
  first?.focus();
  return new Promise((done) => {
    form.onsubmit = (event) => { event.preventDefault(); dialog.returnValue = "ok"; dialog.close("ok"); };
    pending = done;
    dialog.onclose = () => {
      if (dialog.open) return;
      pending?.(dialog.returnValue === "ok");
      pending = null;
    };
    form.querySelectorAll("[data-close]").forEach((one) => { one.onclick = () => dialog.close(""); });
  });
}

const ending = (word) => el("div", { class: "pair" },
  el("button", { type: "submit", class: "main" }, word), el("button", { type: "button", "data-close": true }, "Back"));

function field(label, more = {}) {
  const input = el("input", { autocomplete: "off", autocapitalize: "off", spellcheck: "false", maxlength: "500", ...more });
  return [el("label", {}, label, input), input];
}

// Buttons to pick from, eight at a time so that a numeric pad reaches all. `many`: any number of them.
function picks(label, choices, { many = true, chosen = [], onpick = () => {} } = {}) {
  const taken = new Set(chosen), box = el("div", { class: "choices", "data-group": true, role: "group", "aria-label": label });
  let all = choices.slice(), from = 0;
  const draw = (focus) => {
    const here = all.slice(from, from + PAGE);
    box.replaceChildren(...here.map((choice, index) => {
      const one = el("button", { type: "button", "data-key": index + 1, "aria-pressed": String(taken.has(choice.to)), "data-to": choice.to },
        el("kbd", {}, String(index + 1)), (choice.says || choice.to).replaceAll("?", "?\u2060"));
      one.onclick = () => {
        if (!many) taken.clear();
        if (taken.has(choice.to)) taken.delete(choice.to); else taken.add(choice.to);
        draw(index);
        onpick(choice, taken.has(choice.to));
      };
      return one;
    }));
    if (all.length > PAGE) {
      const more = el("button", { type: "button", "data-key": 9 }, el("kbd", {}, "9"), `more (${Math.min(from + PAGE, all.length)} of ${all.length})`);
      more.onclick = () => { from = from + PAGE < all.length ? from + PAGE : 0; draw(PAGE); };
      box.append(more);
    }
    if (focus !== undefined) (box.children[focus] ?? box.lastElementChild)?.focus({ preventScroll: true });
  };
  draw();
  return {
    box: el("fieldset", { class: "group" }, el("legend", {}, label), box),
    chosen: () => [...taken],
    add: (choice) => {
      if (!all.some((one) => one.to === choice.to)) all = [choice, ...all];
      if (!many) taken.clear();
      taken.add(choice.to);
      from = 0;
      draw();
    },
    set: (list) => { all = list; from = 0; draw(); },
  };
}

// A field with the words that may stand in it.
function named(label, pick) {
  const [box, input] = field(label, { placeholder: "R5, C7.2, chassis" });
  const list = el("div", { class: "choices" });
  let asked = 0;
  input.oninput = async () => {
    const mine = ++asked, text = input.value.trim();
    if (!text) { list.replaceChildren(); return; }
    let words = [];
    try { words = (await ask(`/complete?text=${encodeURIComponent(text)}`, { patience: 1500 })).words; } catch { /* typed in full */ }
    if (mine !== asked) return;
    list.replaceChildren(...[...new Set([...words.slice(0, 6), text])].map((word) => {
      const one = el("button", { type: "button" }, word);
      one.onclick = () => { pick(word); input.value = ""; list.replaceChildren(); input.focus(); };
      return one;
    }));
  };
  return { box: el("div", {}, box, list), input, take: () => { if (input.value.trim()) pick(input.value.trim()); input.value = ""; } };
}

function unitPicks(units, label = "Unit") {
  if (!units?.length) return { box: "", chosen: () => [""] };
  return picks(label, units.map((one) => ({ to: one, says: one || "ohms" })), { many: false, chosen: [units[0]] });
}

const UNITS = { resistor: ["", "k", "M"], potentiometer: ["", "k", "M"], capacitor: ["uF", "pF"], electrolytic: ["uF"],
  coil: ["H", "mH", "uH"], choke: ["H", "mH", "uH"] };
const RATED = { resistor: "watts", potentiometer: "watts", capacitor: "volts", electrolytic: "volts", "relay-spdt": "volts",
  "relay-spst": "volts", "relay-dpdt": "volts", fuse: "amps", rectifier: "volts", diode: "volts", lamp: "volts" };

// A part that the drawing lacks: its name, kind and what is printed on it.
export async function newPart(taken) {
  const kinds = [...document.getElementById("foreign-kinds").content.children]
    .map((one) => ({ to: one.value, says: one.value, letter: one.dataset.letter }));
  const [typeBox, type] = field("or another kind, as the catalogue calls it");
  const kind = picks("What is it?", kinds, { many: false });
  if (!await open("A part that the drawing lacks", kind.box, typeBox, ending("Go on"))) return null;
  const part = type.value.trim() || kind.chosen()[0];
  if (!part) return null;
  const letter = kinds.find((one) => one.to === part)?.letter ?? "A";
  let number = 1;
  while (taken.includes(`?${letter}${number}`)) number += 1;
  const [nameBox, name] = field("Name", { value: `?${letter}${number}` });
  const [valueBox, value] = field(part in UNITS ? "Value" : "Value or type, if it shows one", { inputmode: part in UNITS ? "decimal" : "text" });
  const units = unitPicks(UNITS[part]);
  const [ratedBox, rated] = field({ watts: "Watts", volts: "Volts", amps: "Amperes" }[RATED[part]] ?? "", { inputmode: "decimal" });
  const [textBox, text] = field("What it looks like");
  if (!await open(`New ${part}`, valueBox, units.box, RATED[part] ? ratedBox : "", textBox, nameBox, ending("Take it"))) return null;
  const out = { name: name.value.trim(), part, value: value.value.trim(), unit: value.value.trim() ? units.chosen()[0] ?? "" : "", text: text.value.trim() };
  if (!/[0-9]$/.test(out.value)) out.unit = "";
  if (RATED[part]) out[RATED[part]] = rated.value.trim();
  return out;
}

// How one lead is made: construction, length, colour, evidence, condition.
async function details(item) {
  const conductor = picks("Conductor", CONDUCTORS.map((to) => ({ to })), { many: false, chosen: item.conductor ? [item.conductor] : [] });
  const evidence = picks("How is it known?", [{ to: "", says: "seen" }, { to: "metered" }, { to: "assumed" }], { many: false, chosen: [item.evidence ?? ""] });
  const [lengthBox, length] = field("Length, mm", { inputmode: "decimal", value: item.length ?? "" });
  const [gaugeBox, gauge] = field("Gauge, AWG", { inputmode: "decimal", value: item.gauge ?? "" });
  const [typeBox, type] = field("Cable type, such as RG-58", { value: item.cable_type ?? "" });
  const [nearBox, near] = field("Braid here ends on (a point, or open)", { value: item.braid_here ?? "" });
  const [farBox, far] = field("Braid there ends on", { value: item.braid_there ?? "" });
  const [textBox, text] = field("Colour, remark", { value: item.text ?? "" });
  const [bareBox, bare] = field("Bare length, mm", { inputmode: "decimal", value: item.bare ?? "" });
  const [gapBox, gap] = field("Gap, such as 3mm to S1.1", { value: item.gap ?? "" });
  const condition = picks("Condition", CONDITIONS.map((to) => ({ to })), { many: false, chosen: item.condition ? [item.condition] : [] });
  const seldom = el("div", { hidden: true }, gaugeBox, typeBox, nearBox, farBox, bareBox, gapBox);
  const rest = picks("More", [{ to: "seldom", says: "gauge, cable, braid, bare length, gap" }],
    { onpick: (choice, on) => { seldom.hidden = !on; } });
  if (!await open(`The lead to ${item.to}`, conductor.box, lengthBox, evidence.box, textBox, condition.box,
    rest.box, seldom, ending("Keep"))) return item;
  const unit = (value, word) => (/^[0-9.]+$/.test(value.trim()) ? value.trim() + word : value.trim());
  return { ...item, conductor: conductor.chosen()[0] ?? "", evidence: evidence.chosen()[0] ?? "", length: unit(length.value, "mm"),
    gauge: unit(gauge.value, "AWG"), cable_type: type.value.trim(), braid_here: near.value.trim(), braid_there: far.value.trim(),
    text: text.value.trim(), bare: unit(bare.value, "mm"), gap: gap.value.trim(), condition: condition.chosen()[0] ?? "" };
}

// What lands on a terminal. Goes round until the person is done.
export async function landing(question, kind, places) {
  const items = new Map();
  let known = question.choices.slice(), taken = question.taken.slice();
  for (;;) {
    let next = "";
    const chosen = picks("What lands here?", known, { chosen: [...items.keys()], onpick: (choice, on) => {
      if (on) items.set(choice.to, items.get(choice.to) ?? { to: choice.to }); else items.delete(choice.to);
    } });
    const other = named("Something else, by its name", (word) => { items.set(word, { to: word }); chosen.add({ to: word, says: word }); });
    const then = picks("More", [{ to: "new", says: "a part that the drawing lacks" }, { to: "how", says: "wire, length, colour …" },
      { to: "elsewhere", says: "something elsewhere, by zone" }],
      { many: false, onpick: (choice) => { next = choice.to; document.getElementById("sheet").close("ok"); } });
    const title = question.form === "part" ? `The two points where the leads of ${question.about} land` : `${kind === "some" ? "Some of what lands" : "All that lands"} on ${question.about}`;
    const order = question.choices.length ? [chosen.box, other.box] : [other.box, chosen.box];
    if (!await open(title, ...order, then.box, ending(kind === "some" ? "These, and maybe more" : "These and nothing else"))) return null;
    other.take();
    if (next === "new") {
      const made = await newPart(taken);
      if (made) {
        taken.push(made.name);
        const to = await terminalOf(made);
        if (to) { items.set(to, { to, new: made }); known = [{ to, says: `${to} (new ${made.part})` }, ...known]; }
      }
      continue;
    }
    if (next === "elsewhere") {
      const to = await elsewhere(places);
      if (to) { items.set(to, { to }); known = [{ to, says: to }, ...known.filter((one) => one.to !== to)]; }
      continue;
    }
    if (next === "how") {
      const which = items.size > 1
        ? await pickOne("Which lead?", [...items.keys()]) : [...items.keys()][0];
      if (which) items.set(which, await details(items.get(which)));
      continue;
    }
    return items.size ? { kind, items: [...items.values()] } : null;
  }
}

// By zone, part and terminal: the way for who has digits only.
async function elsewhere(places) {
  const zones = places.filter((one) => !one.zone), one = (title, list) => pickOne(title, list);
  const zone = await one("In which zone?", zones);
  const part = zone && await one("Which part?", places.filter((place) => place.zone === zone));
  const points = part ? places.find((place) => place.to === part).points : [];
  return part && one("Which terminal?", [...points, part]);
}

const TERMINALS = { "relay-spdt": ["coil1", "coil2", "c", "no", "nc"], "relay-spst": ["coil1", "coil2", "c", "no"],
  rectifier: ["a", "k"], diode: ["a", "k"], electrolytic: ["+", "-"], "switch-spst": ["1", "2"], "switch-spdt": ["c", "1", "2"],
  "jack-2": ["tip", "sleeve"], "coax-socket": ["center", "shell"], "phono-socket": ["center", "shell"], potentiometer: ["ccw", "arm", "cw"],
  meter: ["+", "-"], "cord-3": ["L", "N", "E"], "relay-dpdt": ["coil1", "coil2", "ca", "noa", "nca", "cb", "nob", "ncb"] };

async function terminalOf(made) {
  if (["resistor", "capacitor", "coil", "choke", "lamp", "fuse"].includes(made.part)) return made.name;
  const known = TERMINALS[made.part];
  if (known) { const one = await pickOne(`Which of its terminals is it?`, known); return one && `${made.name}.${one}`; }
  const [box, input] = field("Which of its terminals is it? (a number or word)");
  if (!await open(made.name, box, ending("Take it")) || !input.value.trim()) return null;
  return `${made.name}.${input.value.trim()}`;
}

export async function pickOne(title, names) {
  const one = picks(title, names.map((one) => (typeof one === "string" ? { to: one } : { to: one.to, says: placed(one) })), { many: false, onpick: () => document.getElementById("sheet").close("ok") });
  return await open(title, one.box, ending("Go on")) ? one.chosen()[0] ?? null : null;
}

const placed = (one) => (one.zone === "" || one.to === one.says ? one.says : `${one.to} ${one.says}`);

export async function exceptions(question) {
  const chosen = picks("Not as drawn, or not seen", question.excepts);
  const other = named("another, by its name", (word) => chosen.add({ to: word, says: word }));
  if (!await open(`${question.about} is as drawn, but not these`, chosen.box, other.box, ending("The rest is as drawn"))) return null;
  other.take();
  return { kind: "but", but: chosen.chosen() };
}

// A look over a zone speaks of any of its parts.
async function whichPart(question, title) {
  const one = picks(title, question.excepts, { many: false, onpick: () => document.getElementById("sheet").close("ok") });
  let typed = "";
  const other = named("another, by its name", (word) => { typed = word; document.getElementById("sheet").close("ok"); });
  if (!await open(title, one.box, other.box, ending("Go on"))) return null;
  other.take();
  return typed || one.chosen()[0] || null;
}

export async function gone(question) {
  const part = question.form === "zone" ? await whichPart(question, "Which part is missing?") : question.about;
  return part && { kind: "missing", about: part };
}

export async function added(question) {
  return question.form === "zone" ? foreign(question) : line(question);
}

export async function reading(asked) {
  const part = asked.form === "zone" ? await whichPart(asked, "Which part?") : asked.part;
  if (!part) return null;
  const question = { ...asked, part, units: asked.units_of?.[part] ?? asked.units };
  const [valueBox, value] = field("Value or type as printed", { inputmode: question.units.length ? "decimal" : "text" });
  const units = unitPicks(question.units);
  const [wattsBox, watts] = field("Watts as printed", { inputmode: "decimal" });
  const [voltsBox, volts] = field("Volts as printed", { inputmode: "decimal" });
  const condition = picks("Condition", CONDITIONS.map((to) => ({ to })));
  const [measuredBox, measured] = field("Measured, a lead lifted", { inputmode: "decimal" });
  const measuredUnits = unitPicks(question.units, "Unit of the measured value");
  const [textBox, text] = field("Remark");
  if (!await open(`${question.part} as it is`, valueBox, units.box, ...(question.units.length ? [wattsBox, voltsBox] : []),
    condition.box, measuredBox, question.units.length ? measuredUnits.box : "", textBox, ending("Take it"))) return null;
  const bare = (one) => /^[0-9.]+$/.test(one);
  return { kind: "read", about: question.part, value: value.value.trim(), unit: bare(value.value.trim()) ? units.chosen()[0] ?? "" : "",
    watts: watts.value.trim(), volts: volts.value.trim(), conditions: condition.chosen(), measured: measured.value.trim(),
    measured_unit: bare(measured.value.trim()) ? measuredUnits.chosen()[0] ?? "" : "", text: text.value.trim() };
}

async function meter(question) {
  const cautions = el("ul", { class: "warning small" }, document.getElementById("reading-cautions").content.cloneNode(true));
  const quantity = picks("Reading of", ["ohms", "volts", "amps", "watts"].map((to) => ({ to })), { many: false, chosen: ["ohms"] });
  const [aBox, a] = field("From", { value: question.form === "zone" ? "" : question.about });
  const [bBox, b] = field("To (empty: ground)", { placeholder: "chassis" });
  const [valueBox, value] = field("The meter reads (also: open, 0, >20M)", { inputmode: "text" });
  const [stateBox, state] = field("In which state (volts, amperes, watts)");
  if (!await open("A meter reading", cautions, quantity.box, aBox, bBox, valueBox, stateBox, ending("Take it"))) return null;
  return { kind: "reading", quantity: quantity.chosen()[0], a: a.value.trim(), b: b.value.trim() || (quantity.chosen()[0] === "ohms" ? "chassis" : ""),
    value: value.value.trim(), state: state.value.trim() };
}

async function photo(question) {
  const input = el("input", { type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment", id: "camera" });
  const [ofBox, of] = field("Of", { value: question.form === "zone" ? "" : question.about });
  const [textBox, text] = field("What it shows");
  if (!await open("A photograph", el("label", {}, "Picture", input), ofBox, textBox, ending("Store it")) || !input.files[0]) return null;
  return { kind: "photo", of: of.value.trim(), text: text.value.trim(), picture: input.files[0] };
}

async function note(question) {
  const [ofBox, of] = field("About", { value: question.form === "zone" ? "" : question.about });
  const text = el("textarea", { rows: "4", maxlength: "1500" });
  if (!await open("A note", el("label", {}, "Words", text), ofBox, ending("Take it")) || !text.value.trim()) return null;
  return { kind: "note", of: of.value.trim(), text: text.value.trim() };
}

async function condition(question) {
  const chosen = picks("Condition", CONDITIONS.map((to) => ({ to })));
  const [ofBox, of] = field("Of", { value: question.about });
  const [textBox, text] = field("or in words");
  if (!await open("The condition of a joint or part", chosen.box, ofBox, textBox, ending("Take it"))) return null;
  return { kind: "condition", of: of.value.trim(), conditions: chosen.chosen(), text: text.value.trim() };
}

async function line(question) {
  const [box, input] = field("A line of the circuit language, such as  wire J1.tip -- V1.k, 90mm", { value: question.form === "part" ? `${question.about}.` : "" });
  if (!await open("Any line", box, ending("Take it")) || !input.value.trim()) return null;
  return { kind: "statement", words: input.value.trim() };
}

async function foreign(question) {
  const made = await newPart(question.taken);
  return made && { kind: "foreign", ...made };
}

export async function more(question) {
  const ways = { reading: ["a meter reading", meter], photo: ["a photograph", photo], note: ["a note", note],
    value: ["value, condition of the part", reading], condition: ["a joint's condition", condition],
    foreign: ["a part that the drawing lacks", foreign], line: ["any line", line] };
  const names = Object.entries(ways).filter(([name]) => name !== "value" || question.form !== "zone");
  let chosen = "";
  const one = picks("What else?", names.map(([to, [says]]) => ({ to, says })), { many: false, onpick: (choice) => {
    chosen = choice.to; document.getElementById("sheet").close("ok");
  } });
  if (!await open("What else?", one.box, el("button", { type: "button", "data-close": true }, "Back")) || !chosen) return null;
  return ways[chosen][1](question);
}

// Where to go: a zone, a part, a terminal.
export async function where(places) {
  const [box, input] = field("A part, a zone, a terminal", { placeholder: "V5, TB3.2" });
  const found = picks("Go to", places.map((one) => ({ to: one.to, says: placed(one) })),
    { many: false, onpick: () => document.getElementById("sheet").close("ok") });
  input.oninput = () => {
    const text = input.value.trim().toLowerCase();
    const near = places.filter((one) => `${one.to} ${one.says}`.toLowerCase().includes(text));
    near.sort((a, b) => b.to.toLowerCase().startsWith(text) - a.to.toLowerCase().startsWith(text));
    const points = text.includes(".") ? places.flatMap((one) => one.points ?? []).filter((to) => to.toLowerCase().startsWith(text)) : [];
    near.unshift(...points.map((to) => ({ to, says: to })));
    found.set(near.map((one) => ({ to: one.to, says: placed(one) })));
  };
  if (!await open("Where to?", box, found.box, ending("Go"))) return null;
  if (found.chosen().length) return found.chosen()[0];
  const exact = places.find((one) => one.to.toLowerCase() === input.value.trim().toLowerCase());
  return exact?.to ?? (input.value.trim() || null);
}

export { step };
