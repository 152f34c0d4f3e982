// The page: shows the question, sends the answer, tells what is saved. What is worked out is worked out by the program.

import { ask, device, send } from "./asking.js";
import { listen } from "./keys.js";
import { Sending } from "./sending.js";
import * as sheets from "./sheets.js";

const at = (id) => document.getElementById(id);
const page = { questions: [], places: [], file: at("kept").dataset.file, kept: null, stream: null, heard: 0, shown: {} };

const sending = new Sending(page.file, post, tellKept);

// --- what is saved

function tellKept() {
  const kept = at("kept"), waiting = sending.waiting.length;
  kept.classList.remove("waiting", "trouble");
  const full = page.kept?.file ?? page.file, where = innerWidth < 600 ? full.split(/[\\/]/).slice(-2).join("/") : full;
  kept.title = full;
  if (waiting && (sending.offline || sending.paused)) {
    kept.classList.add("waiting");
    const how = sending.safe ? "kept on this device" : "kept in this page only: do not close it";
    kept.textContent = `${waiting} ${waiting === 1 ? "answer" : "answers"} ${how}, sent to ${where} once it answers`;
  } else if (sending.offline) {
    kept.classList.add("waiting");
    kept.textContent = `no connection; all answers so far are in ${where}`;
  } else if (page.kept && !page.kept.ok) {
    kept.classList.add("trouble");
    kept.textContent = `${page.kept.says}: ${where}`;
  } else {
    kept.textContent = `${page.kept?.says ?? "connecting"}: ${where}`;
  }
}

function post(one) {
  if (one.kind === "photo") {
    const asked = new URLSearchParams({ token: one.token, of: one.of, text: one.text, since: device.revision });
    return ask(`/photo?${asked}`, { method: "POST", body: one.picture, type: one.picture.type, patience: 60000 }).then(unsaved);
  }
  const { made, file, picture, ...sent } = one;
  return send("/answer", { ...sent, since: device.revision }).then(unsaved);
}

// Not written because the disk is full, or the file cannot be written, or is broken by hand: the answer stays here.
function unsaved(reply) {
  if (reply.state) show(reply.state);
  if (reply.unsaved) throw { unsaved: true, trouble: reply.outcome.says };
  return reply;
}

// --- showing

function show(state) {
  if (state.revision < device.revision) return;
  device.revision = state.revision;
  page.kept = state.kept;
  at("title").textContent = state.title;
  const open = [...at("found").querySelectorAll("details")].map((one) => [one.dataset.hold, one.open]);
  for (const place of ["progress", "recent", "found", "photos"]) {
    if (place in state && page.shown[place] !== state[place]) at(place).innerHTML = page.shown[place] = state[place];
  }
  for (const [hold, was] of open) { const one = at("found").querySelector(`[data-hold="${hold}"]`); if (one) one.open = was; }
  if ("faults" in state && page.shown.faults !== state.faults) at("faults").innerHTML = page.shown.faults = state.faults;
  at("count").textContent = `Found ${at("count-now")?.textContent ?? 0}`;
  if (state.notices.length) tell(state.notices.join(" "));
  tellKept();
}

function tell(says, html = "") {
  const box = document.createElement("section");
  box.className = "card";
  if (html) { box.className = "warning"; box.innerHTML = html; }
  else { const p = document.createElement("p"); p.textContent = says; box.append(p); }
  at("told").replaceChildren(box);
  return box;
}

function showQuestion() {
  const one = page.questions[0], box = at("question");
  box.classList.remove("fresh");
  if (!one) {
    box.innerHTML = "<h2>Nothing is open here</h2><p>Go to any part to look at it again.</p>";
    box.dataset.about = "";
  } else {
    box.innerHTML = one.html;
    box.dataset.about = one.about;
    box.classList.add("fresh");
  }
  for (const button of box.querySelectorAll("button")) button.disabled = false;
  box.dataset.ahead = "0";
  box.dataset.shown = String(Number(box.dataset.shown ?? 0) + 1);
  if (!at("sheet").open) box.focus({ preventScroll: true });
  const top = box.getBoundingClientRect().top;
  if (top < document.querySelector(".top").offsetHeight || top > innerHeight / 2) box.scrollIntoView({ block: "start" });
  clearTimeout(page.later);
  page.later = setTimeout(lookAhead, 600);
}

// The questions after this one, for the time without a network.
async function lookAhead() {
  const number = at("question").dataset.shown, here = current();
  if (!here || sending.offline || sending.busy) return;
  try {
    const reply = await ask(`/question?since=${device.revision}`);
    if (number !== at("question").dataset.shown || current() !== here) return;
    page.questions = [here, ...reply.questions.filter((one) => one.key !== here.key)];
    at("question").dataset.ahead = String(page.questions.length - 1);
    show(reply.state);
  } catch { /* there is no hurry */ }
}

const current = () => page.questions[0];

// --- answering

async function give(fields) {
  const one = current();
  const answer = { about: one?.about ?? "", key: one?.key ?? "", ...fields };
  at("told").replaceChildren();
  const stays = ["photo", "note", "reading", "condition", "foreign", "read", "statement"];
  const moves = answer.about === one?.about && !stays.includes(answer.kind);
  for (const button of at("question").querySelectorAll("button")) button.disabled = moves;
  const reply = await sending.add(answer);
  if (reply === null) {          // no network: on with what this device has
    if (moves) page.questions.shift();
    showQuestion();
    return;
  }
  after(reply, answer);
}

function after(reply, answer) {
  if (reply.enter) { location.assign("/enter"); return; }
  if (reply.confirm && !reply.outcome) { confirmFirst(reply.trouble); return; }
  if (!reply.outcome) { tell(`Not taken: ${answer?.about ?? ""} ${answer?.kind ?? ""}. ${reply.trouble}`); showQuestion(); return; }
  if (reply.questions) page.questions = reply.questions;
  const news = [...(reply.told ?? [])];
  if (reply.outcome.taken && (answer === null || reply.outcome.repeated)) news.unshift(reply.outcome.says);
  if (news.length) tell(news.join(" "));
  if (!reply.outcome.taken) {
    const box = tell("", reply.outcome.html);
    if (reply.outcome.yields) {
      const button = document.createElement("button");
      button.className = "main";
      button.textContent = "My answer is right: take out the earlier lines";
      button.onclick = () => { const { token, made, file, ...again } = answer; give({ ...again, instead: true }); };
      box.append(button);
    }
  }
  showQuestion();
  if (!reply.outcome.taken) at("told").firstElementChild?.scrollIntoView({ block: "start" });
  if (reply.confirm) confirmFirst(reply.confirm);
}

async function undo(count = 1) {
  if (at("sheet").open || at("confirm").open) return;
  if (sending.waiting.length) {      // the last answer has not left this device
    const last = sending.waiting.at(-1);
    await sending.drop(last);
    tell(`Taken back before it was sent: ${last.about} ${last.kind}`);
    return;
  }
  try { after(unsaved(await send("/undo", { count, since: device.revision })), null); }
  catch (error) { failed(error); }
}

async function go(to) {
  try {
    const reply = await ask(`/question?since=${device.revision}${to ? `&go=${encodeURIComponent(to)}` : ""}`);
    page.questions = reply.questions;
    show(reply.state);
    if (reply.told.length) tell(reply.told.join(" "));
    showQuestion();
  } catch (error) { failed(error); }
}

async function goSomewhere() {
  if (at("sheet").open || at("confirm").open) return;
  if (!page.places.length) try { page.places = (await ask("/places")).places; } catch { /* typed in full */ }
  const to = await sheets.where(page.places);
  if (to) go(to); else at("question").focus({ preventScroll: true });
}

function failed(error) {
  if (error.enter) location.assign("/enter");
  else if (error.confirm) confirmFirst(error.trouble);
  else { if (error.gone) { sending.offline = true; tellKept(); } tell(error.trouble ?? String(error)); }
}

// --- before a hand goes in

function confirmFirst(why) {
  const dialog = at("confirm"), form = dialog.querySelector("form"), button = form.querySelector("button");
  if (dialog.open) return;
  if (at("sheet").open) at("sheet").close("");
  sending.paused = true;
  at("confirm-why").textContent = why;
  form.reset();
  button.disabled = true;
  const ticks = [...form.querySelectorAll("input")];
  form.onchange = () => { button.disabled = !ticks.every((one) => one.checked); };
  dialog.oncancel = (event) => event.preventDefault();
  form.onsubmit = async (event) => {
    event.preventDefault();
    try {
      device.pass = (await send("/confirm", { ticks: ticks.filter((one) => one.checked).map((one) => one.value) })).pass;
    } catch (error) {
      if (error.enter) location.assign("/enter");
      at("confirm-why").textContent = error.gone ? "The bench does not answer. Try again in a moment." : error.trouble;
      return;
    }
    dialog.close();
    sending.paused = false;
    const replies = await sending.flush();
    await go("");
    for (const reply of replies.values()) if (reply.outcome && !reply.outcome.taken) after(reply, null);
  };
  dialog.showModal();
  at("confirm-h").focus();
}

// --- hearing from the bench

function hear() {
  page.stream?.close();
  const stream = page.stream = new EventSource(`/events?since=${device.revision}`);
  const alive = () => { page.heard = Date.now(); if (sending.offline) back(); };
  stream.onopen = alive;
  stream.addEventListener("breath", alive);
  stream.onmessage = (event) => {
    alive();
    const state = JSON.parse(event.data), before = device.revision, mended = page.shown.faults && !state.faults;
    show(state);
    // Somebody else has written: the questions are asked anew, unless an answer is being put together here.
    const other = state.revision > before && state.last !== device.pass;
    if ((other || mended) && !at("sheet").open && !at("confirm").open && !sending.busy && device.pass) refresh();
  };
  stream.onerror = () => { if (Date.now() - page.heard > 3000) { sending.offline = true; tellKept(); } };
}

async function refresh() {
  const before = current()?.key, number = at("question").dataset.shown;
  if (sending.waiting.length) { await sending.flush(); }
  try {
    const reply = await ask(`/question?since=${device.revision}`);
    show(reply.state);
    if (number !== at("question").dataset.shown || at("sheet").open) return;   // the person was quicker
    const still = reply.questions.findIndex((one) => one.key === before);
    if (still > 0) reply.questions.unshift(...reply.questions.splice(still, 1));
    const changed = JSON.stringify(reply.questions[0]) !== JSON.stringify(page.questions[0]);
    page.questions = reply.questions;
    if (changed) showQuestion();
  } catch (error) { if (error.confirm || error.enter) failed(error); }
}

let returning = null;
function back() {
  returning ??= (async () => {
    const had = sending.waiting.length, replies = await sending.flush();
    if (!sending.offline) {
      const bad = [...replies.values()].find((reply) => !reply.outcome?.taken);
      if (bad) after(bad, null); else await refresh();
      if (had && !bad && !sending.waiting.length) tell(`${had} ${had === 1 ? "answer" : "answers"} sent and saved.`);
    }
    tellKept();
  })().finally(() => { returning = null; });
}

setInterval(() => {
  if ((sending.offline || sending.waiting.length) && !sending.paused && !sending.busy) back();
  if (page.stream?.readyState === EventSource.CLOSED) hear();
}, 1500);
addEventListener("online", back);
addEventListener("offline", () => { sending.offline = true; tellKept(); });
addEventListener("beforeunload", (event) => { if (sending.waiting.length && !sending.safe) event.preventDefault(); });

// --- touches

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button");
  if (!button || button.disabled || button.closest("dialog")) return;
  const does = button.dataset;
  if (does.answer) give({ kind: does.answer });
  else if (does.asks) {
    const one = current();
    const fields = await { but: () => sheets.exceptions(one), these: () => sheets.landing(one, "these", page.places),
      some: () => sheets.landing(one, "some", page.places), read: () => sheets.reading(one), more: () => sheets.more(one),
      missing: () => sheets.gone(one), statement: () => sheets.added(one) }[does.asks]();
    if (fields) give(fields); else at("question").focus({ preventScroll: true });
  } else if (does.go) go(does.go);
  else if (does.undo) undo(Number(does.undo));
  else if (button.id === "undo" || does.does === "undo") undo();
  else if (does.does === "go") goSomewhere();
  else if (button.id === "light") light(true);
});

function light(turn) {
  const all = ["auto", "day", "night"];
  let now = localStorage.getItem("light") ?? "auto";
  if (turn) { now = all[(all.indexOf(now) + 1) % 3]; localStorage.setItem("light", now); }
  document.documentElement.dataset.light = now;
  at("light").querySelector("span").textContent = { auto: "light: as the device", day: "bright", night: "dark" }[now];
}

listen({
  dialog: () => [at("confirm"), at("sheet")].find((one) => one.open) ?? null,
  question: at("question"), undo, go: goSomewhere,
});

light(false);
await sending.recall();
hear();
confirmFirst(sending.waiting.length ? "Answers of before are kept on this device; they are sent when you go on." : "");
ask("/places").then((reply) => { page.places = reply.places; }, () => {});
