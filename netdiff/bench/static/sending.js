// What a device has answered is kept on the device until the bench has it: it outlives a dropped network, a reload,
// and a restart of the program. Each answer has a name of its own, so that one that is sent twice is taken once.

const STORE = "answers";

export const newToken = () =>
  [...crypto.getRandomValues(new Uint8Array(12))].map((one) => one.toString(16).padStart(2, "0")).join("");

function database() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("netdiff-bench", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "token" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

async function change(act) {
  const db = await database();
  return new Promise((done, failed) => {
    const work = db.transaction(STORE, "readwrite");
    const asked = act(work.objectStore(STORE));
    work.oncomplete = () => { db.close(); done(asked && asked.result); };
    work.onerror = work.onabort = () => { db.close(); failed(work.error); };
  });
}

export class Sending {
  // post(one) resolves with the bench's reply, or throws: {gone: true} for a network that dropped, else it is refused.
  constructor(file, post, tell) {
    this.file = file;
    this.post = post;
    this.tell = tell;
    this.waiting = [];
    this.safe = true;      // the device can keep answers through a reload
    this.offline = false;
    this.busy = null;
    this.paused = true;    // until the person has confirmed
  }

  async recall() {
    try {
      const all = await change((store) => store.getAll());
      this.waiting = all.filter((one) => one.file === this.file).sort((a, b) => a.made - b.made);
    } catch { this.safe = false; }
    this.tell();
  }

  // Keeps the answer, then sends all that wait, in order. Resolves with this one's reply, or null while offline.
  async add(one) {
    one.token ||= newToken();
    one.file = this.file;
    one.made = Math.max(Date.now(), (this.waiting.at(-1)?.made ?? 0) + 1);
    this.waiting.push(one);
    if (this.safe) change((store) => store.put(one)).catch(() => { this.safe = false; this.tell(); });
    this.tell();
    const replies = await this.flush();
    return replies.get(one.token) ?? null;
  }

  async drop(one) {
    this.waiting = this.waiting.filter((other) => other.token !== one.token);
    if (this.safe) change((store) => store.delete(one.token)).catch(() => { this.safe = false; });
    this.tell();
  }

  async flush() {
    while (this.busy) await this.busy;
    this.busy = this.#flush();
    try { return await this.busy; } finally { this.busy = null; }
  }

  async #flush() {
    const replies = new Map();
    while (this.waiting.length && !this.paused) {
      const one = this.waiting[0];
      try {
        const reply = await this.post(one);
        this.offline = false;
        await this.drop(one);
        replies.set(one.token, reply);
        if (reply.confirm) { this.paused = true; break; }
      } catch (error) {
        this.offline = error.gone === true;
        if (error.gone) break;
        if (error.confirm || error.enter) { this.paused = true; replies.set(one.token, error); break; }
        if (error.unsaved) { replies.set(one.token, error); break; }   // a full disk: it stays here and is sent again
        await this.drop(one);
        replies.set(one.token, error);
      }
    }
    this.tell();
    return replies;
  }
}
