// Everything that is asked of the bench goes through here: a reply, or an error that says what sort it is.

export const device = { pass: "", revision: 0 };

const PATIENCE = 8000;

export async function ask(path, { method = "GET", body, type, patience = PATIENCE } = {}) {
  const headers = { "x-pass": device.pass };
  if (type) headers["content-type"] = type;
  let response, said;
  try {
    response = await fetch(path, { method, headers, body, cache: "no-store", signal: AbortSignal.timeout(patience) });
    said = await response.text();
  } catch (error) {
    throw { gone: true, trouble: "the network dropped" };
  }
  try { said = JSON.parse(said); } catch { said = { trouble: `The bench answered ${response.status}.` }; }
  if (response.ok) return said;
  if (response.status === 401) throw { enter: true, trouble: said.trouble };
  throw { trouble: said.trouble, confirm: said.confirm === true, status: response.status };
}

export const send = (path, value) =>
  ask(path, { method: "POST", body: JSON.stringify(value), type: "application/json" });

export function el(tag, attributes = {}, ...inside) {
  const one = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) one.setAttribute(name, "");
    else if (value !== false && value !== undefined) one.setAttribute(name, value);
  }
  one.append(...inside);
  return one;
}
