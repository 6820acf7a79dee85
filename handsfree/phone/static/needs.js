// What this browser lacks: without some of it no visit can be kept, without the rest none is heard.

/** The names, in words.json, of what a visit needs and this browser has not. */
export function lacking() {
  return missing({
    secure: globalThis.isSecureContext,
    service_workers: "serviceWorker" in navigator,
    private_files: navigator.storage?.getDirectory !== undefined,
    web_locks: "locks" in navigator,
    wasm: "WebAssembly" in globalThis,
  });
}

/** The same for listening: a visit can be typed without it. */
export function lackingEars() {
  return missing({
    microphone: navigator.mediaDevices?.getUserMedia !== undefined,
    audio_worklet: "AudioWorkletNode" in globalThis,
  });
}

function missing(there) {
  return Object.keys(there).filter((name) => !there[name]);
}

/** Throws where files cannot be kept here: a private window, or no access from a worker. Full
 * storage is no reason: what is kept there can still be handed over. */
export async function tryFiles() {
  const root = await navigator.storage.getDirectory();
  const name = `trial ${crypto.randomUUID()}`;
  try {
    const file = await root.getFileHandle(name, { create: true });
    const handle = await file.createSyncAccessHandle();
    try {
      handle.write(new Uint8Array(1), { at: 0 });
      handle.flush();
    } finally {
      handle.close();
    }
  } catch (fault) {
    if (fault.name !== "QuotaExceededError") throw fault;
  } finally {
    await root.removeEntry(name).catch(() => undefined); // it may not have been made
  }
}
