// Visits in the origin's private files: what keep() has returned from is flushed.
// The journal only grows, so its new bytes are appended; other files are written whole, before it.

const VISITS = "visits";
const LOGS = "motion";
const JOURNAL = "journal.jsonl";
const HEAD = "journal.head";
const NEXT_HEAD = "journal.head.next"; // where the turn that is being written ends
const RESERVE = "reserve"; // space held for the turn at which the storage turns out to be full
export const RESERVE_MB = 8;
const NOT_KEPT = new Set(["journal.lock", ".", ".."]);

async function visitsFolder() {
  const root = await navigator.storage.getDirectory();
  return root.getDirectoryHandle(VISITS, { create: true });
}

/** The names of all visits, and the first and last line of each journal. */
export async function listVisits() {
  const found = [];
  for await (const [name, folder] of (await visitsFolder()).entries()) {
    if (folder.kind !== "directory") continue;
    try {
      const text = await (await (await folder.getFileHandle(JOURNAL)).getFile()).text();
      const lines = text.trimEnd().split("\n");
      const first = JSON.parse(lines[0]);
      const sheet = first.body.sheet;
      found.push({
        name, at: first.at, reference: sheet.reference, site: sheet.site, language: sheet.language,
        closed: lines.some((line) => line.includes('"kind":"visit_closed"')),
      });
    } catch {
      found.push({ name, unreadable: true });
    }
  }
  return found.sort((one, other) => (one.at < other.at ? 1 : -1));
}

/** Holds the reserve, and makes it if it is not there; false if the storage has no room for it. */
export async function holdReserve() {
  const root = await navigator.storage.getDirectory();
  let handle;
  try {
    const file = await root.getFileHandle(RESERVE, { create: true });
    if ((await file.getFile()).size >= RESERVE_MB * 1e6) return true;
    handle = await file.createSyncAccessHandle();
    overwrite(handle, new Uint8Array(RESERVE_MB * 1e6).fill(1));
    return true;
  } catch (fault) {
    return fault.name === "NoModificationAllowedError"; // another tab is making it
  } finally {
    handle?.close();
  }
}

/** Gives the reserve back; false if there was none. */
export async function freeReserve() {
  const root = await navigator.storage.getDirectory();
  return root.removeEntry(RESERVE).then(() => true, () => false);
}

/** Puts a log of a sensor into a visit, whether it is open in a tab or not. */
export async function putLog(visit, name, text) {
  const folder = await (await visitsFolder()).getDirectoryHandle(visit);
  const logs = await folder.getDirectoryHandle(LOGS, { create: true });
  const file = await logs.getFileHandle(name, { create: true });
  const handle = await file.createSyncAccessHandle();
  try {
    overwrite(handle, new TextEncoder().encode(text));
  } finally {
    handle.close();
  }
}

export async function removeVisit(name) {
  const release = await lockVisit(name);
  try {
    await (await visitsFolder()).removeEntry(name, { recursive: true });
  } finally {
    release();
  }
}

/** Holds the visit for this tab alone; another tab's attempt fails at once. */
export function lockVisit(name) {
  return new Promise((resolve, reject) => {
    navigator.locks.request(`visit ${name}`, { ifAvailable: true }, (lock) => {
      if (lock === null) {
        reject(new Error("open in another tab"));
        return undefined;
      }
      return new Promise((release) => resolve(release));
    }).catch(reject);
  });
}

/** A visit's folder: the copy that Python writes in memory, and the one that stays. */
export class VisitFolder {
  /** ``firstHead`` is the text of the head of an empty journal. */
  constructor(fs, name, firstHead) {
    this.fs = fs;
    this.firstHead = new TextEncoder().encode(firstHead);
    this.name = name;
    this.path = `/visits/${name}`;
    this.kept = 0; // bytes of the journal
    this.others = new Map(); // sizes of other files that are kept
    this.handles = new Map();
  }

  async open() {
    this.release = await lockVisit(this.name);
    this.folder = await (await visitsFolder()).getDirectoryHandle(this.name, { create: true });
    this.fs.mkdirTree(this.path);
    await this.load(this.folder, this.path, "");
    await this.recover();
  }

  /** Drops a turn that a kill cut short: it was not answered. Its head was written before it. */
  async recover() {
    if (this.kept === 0) return;
    const journal = this.fs.readFile(`${this.path}/${JOURNAL}`);
    const ends = [];
    journal.forEach((byte, i) => { if (byte === 10) ends.push(i + 1); });
    const next = this.headIn(NEXT_HEAD);
    if (next !== null && ends.length >= next.seq) {
      this.fs.writeFile(`${this.path}/${HEAD}`, this.fs.readFile(`${this.path}/${NEXT_HEAD}`));
      return;
    }
    const head = this.headIn(HEAD);
    if (head === null || head.seq > ends.length) return; // Python says what is wrong with it
    const whole = head.seq === 0 ? 0 : ends[head.seq - 1];
    if (whole === journal.length) return;
    this.fs.writeFile(`${this.path}/${JOURNAL}`, journal.subarray(0, whole));
    const handle = await this.handle(JOURNAL);
    handle.truncate(whole);
    handle.flush();
    this.kept = whole;
  }

  headIn(name) {
    try {
      const head = JSON.parse(this.fs.readFile(`${this.path}/${name}`, { encoding: "utf8" }));
      return typeof head.seq === "number" ? head : null;
    } catch {
      return null; // missing or torn
    }
  }

  async load(folder, path, below) {
    for await (const [name, entry] of folder.entries()) {
      if (entry.kind === "directory") {
        this.fs.mkdirTree(`${path}/${name}`);
        await this.load(entry, `${path}/${name}`, `${name}/`);
        continue;
      }
      const bytes = new Uint8Array(await (await entry.getFile()).arrayBuffer());
      this.fs.writeFile(`${path}/${name}`, bytes);
      if (below + name === JOURNAL) this.kept = bytes.length;
      else this.others.set(below + name, bytes.length);
    }
  }

  /** Shows Python the logs that another page has put into the visit since. */
  async takeLogs() {
    let logs;
    try {
      logs = await this.folder.getDirectoryHandle(LOGS);
    } catch {
      return; // there are none
    }
    for await (const [name, entry] of logs.entries()) {
      const file = await entry.getFile();
      if (this.others.get(`${LOGS}/${name}`) === file.size) continue;
      const bytes = new Uint8Array(await file.arrayBuffer());
      this.fs.mkdirTree(`${this.path}/${LOGS}`);
      this.fs.writeFile(`${this.path}/${LOGS}/${name}`, bytes);
      this.others.set(`${LOGS}/${name}`, bytes.length);
    }
  }

  /** Stores what Python has written since the last call. Throws when the device refuses it. */
  async keep() {
    for (const name of this.names(this.path, "")) {
      if ([JOURNAL, HEAD, NEXT_HEAD].includes(name)) continue;
      const size = this.fs.stat(`${this.path}/${name}`).size;
      if (this.others.get(name) !== size) {
        await this.whole(name);
        this.others.set(name, size);
      }
    }
    if (this.kept === 0) overwrite(await this.handle(HEAD), this.firstHead);
    const head = this.fs.readFile(`${this.path}/${HEAD}`);
    overwrite(await this.handle(NEXT_HEAD), head);
    await this.append();
    overwrite(await this.handle(HEAD), head);
  }

  names(path, below) {
    return this.fs.readdir(path).filter((name) => !NOT_KEPT.has(name)).flatMap((name) => {
      const isFolder = this.fs.isDir(this.fs.stat(`${path}/${name}`).mode);
      return isFolder ? this.names(`${path}/${name}`, `${below}${name}/`) : [below + name];
    });
  }

  async append() {
    const size = this.fs.stat(`${this.path}/${JOURNAL}`).size;
    if (size === this.kept) return;
    const handle = await this.handle(JOURNAL);
    if (size < this.kept) { // a line that a kill had torn was set aside
      handle.truncate(size);
      handle.flush();
      this.kept = size;
      return;
    }
    const fresh = new Uint8Array(size - this.kept);
    const stream = this.fs.open(`${this.path}/${JOURNAL}`, "r");
    this.fs.read(stream, fresh, 0, fresh.length, this.kept);
    this.fs.close(stream);
    write(handle, fresh, this.kept);
    this.kept = size;
  }

  async whole(name) {
    const bytes = this.fs.readFile(`${this.path}/${name}`);
    const handle = await this.handle(name);
    overwrite(handle, bytes);
    handle.close();
    this.handles.delete(name);
  }

  async handle(name) {
    if (!this.handles.has(name)) {
      let folder = this.folder;
      const parts = name.split("/");
      for (const part of parts.slice(0, -1)) {
        folder = await folder.getDirectoryHandle(part, { create: true });
      }
      const file = await folder.getFileHandle(parts.at(-1), { create: true });
      this.handles.set(name, await file.createSyncAccessHandle());
    }
    return this.handles.get(name);
  }

  close() {
    for (const handle of this.handles.values()) handle.close();
    this.handles.clear();
    this.release?.();
  }
}

function overwrite(handle, bytes) {
  write(handle, bytes, 0);
  handle.truncate(bytes.length);
  handle.flush();
}

function write(handle, bytes, at) {
  const written = handle.write(bytes, { at });
  handle.flush();
  if (written !== bytes.length) throw new Error("the storage of this phone is full");
}
