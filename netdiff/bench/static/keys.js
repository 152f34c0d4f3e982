// One way to answer by touch, by keyboard, and by a numeric pad.
// Digits press what is numbered; Enter goes to the next field and at last sends; * sends at once; − undoes or goes back; / goes to a part.

const shown = (one) => one.checkVisibility() && !one.disabled;

// The group that digits speak to: the one with the focus, else the first.
function group(root) {
  const near = document.activeElement?.closest?.("[data-group]");
  return near && root.contains(near) ? near : root.querySelector("[data-group]");
}

export function stops(sheet) {
  return [...sheet.querySelectorAll("input:not([type=checkbox]):not([type=file]), textarea, [data-group], button[type=submit]")]
    .filter((one) => shown(one) && !(one.matches("input") && one.closest("[data-group]")));
}

export function step(sheet, by) {
  const all = stops(sheet);
  const here = all.findIndex((one) => one === document.activeElement || one.contains(document.activeElement));
  const next = all[Math.max(0, Math.min(all.length - 1, here + by))];
  if (next.matches("[data-group]")) (next.querySelector("button, input") ?? next).focus();
  else next?.focus();
}

export function listen({ dialog, question, undo, go }) {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
    const sheet = dialog(), root = sheet ?? question;
    const typing = event.target.matches?.("input:not([type=checkbox]), textarea");
    const take = () => event.preventDefault();
    if (event.key === "Enter") {
      if (!sheet || event.target.matches("button[type=submit], a, textarea")) return;
      if (event.target.matches("button") && !event.target.closest("[data-group]")) return;
      take();
      if (sheet.id === "confirm") { sheet.querySelector("button[type=submit]:enabled")?.click(); return; }
      step(sheet, 1);
    } else if (event.code === "NumpadMultiply" && sheet) { take(); sheet.querySelector("button[type=submit]:enabled")?.click(); }
    else if (event.code === "NumpadAdd" && sheet) { take(); step(sheet, 1); }
    else if (event.code === "NumpadSubtract" && sheet && (!typing || !event.target.value)) {
      take();
      if (stops(sheet)[0]?.contains(document.activeElement)) sheet.close(); else step(sheet, -1);
    } else if (typing) return;
    else if (/^[0-9]$/.test(event.key)) {
      const here = group(root);
      const one = [...(here?.querySelectorAll(`[data-key="${event.key}"]`) ?? [])].find(shown);
      if (one) { take(); one.focus({ preventScroll: true }); one.click(); }
      else if (sheet?.id === "confirm") { const tick = sheet.querySelectorAll("input")[event.key - 1]; if (tick) { take(); tick.click(); } }
    } else if (!sheet && (event.key === "-" || event.key === "u")) { take(); undo(); }
    else if (!sheet && (event.key === "/" || event.key === "g")) { take(); go(); }
  });
}
