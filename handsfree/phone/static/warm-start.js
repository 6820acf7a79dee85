// What a later start need not do again: Python's memory after its start, and the compiled code.
// Both belong to one build of the app and are kept with the visits; without them a start is slower.

const FOLDER = "start";
const [MEMORY, CODE, WHOLE] = ["memory", "code.zip", "whole.json"];

const COMPILE = `
import py_compile, sys
from pathlib import Path

def sources(site):
    files = (getattr(module, "__file__", None) or "" for module in list(sys.modules.values()))
    return sorted({file for file in files if file.startswith(site) and file.endswith(".py")})

def compiled(file):
    # Unpacking gives files the time of day, so the code is not compared with it.
    mode = py_compile.PycInvalidationMode.UNCHECKED_HASH
    return py_compile.compile(file, doraise=True, invalidation_mode=mode)

def packed(site, files):
    import io, zipfile
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            archive.write(file, str(Path(file).relative_to(site)))
    return out.getvalue()
`;

/** A name for the build: its files' hashes, hashed. */
async function buildName(app) {
  const files = new TextEncoder().encode(JSON.stringify(app.files));
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", files));
  return Array.from(digest.subarray(0, 8), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function folderOf(app) {
  const root = await navigator.storage.getDirectory();
  const all = await root.getDirectoryHandle(FOLDER, { create: true });
  const name = await buildName(app);
  for await (const other of all.keys()) {
    if (other !== name) await all.removeEntry(other, { recursive: true });
  }
  return all.getDirectoryHandle(name, { create: true });
}

async function bytesOf(folder, name) {
  const file = await (await folder.getFileHandle(name)).getFile();
  return new Uint8Array(await file.arrayBuffer());
}

async function write(folder, name, bytes) {
  const handle = await (await folder.getFileHandle(name, { create: true })).createSyncAccessHandle();
  try {
    handle.truncate(0);
    if (handle.write(bytes) !== bytes.length) throw new Error("the storage is full");
    handle.flush();
  } finally {
    handle.close();
  }
}

/** What an earlier start has kept, {memory, code}; null if there is none, or not all of it. */
export async function keptStart(app) {
  try {
    const folder = await folderOf(app);
    const whole = JSON.parse(new TextDecoder().decode(await bytesOf(folder, WHOLE)));
    const [memory, code] = [await bytesOf(folder, MEMORY), await bytesOf(folder, CODE)];
    return memory.length === whole.memory && code.length === whole.code ? { memory, code } : null;
  } catch {
    return null;
  }
}

/** Keeps a start, module by module, so that a visit may begin meanwhile. */
export async function keepStart(app, python, memory, site) {
  python.runPython(COMPILE);
  const [sources, compiled, packed] = ["sources", "compiled", "packed"].map((name) => python.globals.get(name));
  const listed = sources(`${site}/`);
  const files = [];
  for (const file of listed) {
    files.push(compiled(file));
    await new Promise((resolve) => setTimeout(resolve));
  }
  const paths = python.toPy(files);
  const made = packed(site, paths);
  const code = made.toJs();
  for (const each of [sources, compiled, packed, listed, paths, made]) each.destroy();
  const folder = await folderOf(app);
  await write(folder, MEMORY, memory);
  await write(folder, CODE, code);
  const whole = { memory: memory.length, code: code.length };
  await write(folder, WHOLE, new TextEncoder().encode(JSON.stringify(whole)));
}

export async function forgetStart(app) {
  await (await folderOf(app)).removeEntry(WHOLE).catch(() => null);
}
