// Sends packs to the office that served this app, with its token; the token came in the address.

const KEPT = "office token";

/** Takes the token out of the address, so that it is not passed on with it. */
export function takeToken() {
  const token = new URLSearchParams(location.hash.slice(1)).get("office");
  if (token === null) return;
  localStorage.setItem(KEPT, token);
  history.replaceState(null, "", location.pathname);
}

export function hasOffice() {
  return localStorage.getItem(KEPT) !== null;
}

/** How the office took a pack: 'unpacked', 'replaced', 'unchanged'. Throws why it did not. */
export async function sendPack(bytes) {
  const answer = await fetch("packs", {
    method: "POST", body: bytes, headers: { authorization: `Bearer ${localStorage.getItem(KEPT)}` },
  }).catch(() => { throw new Error("no_office"); });
  if (answer.status === 404 || answer.status === 405 || answer.status === 501) throw new Error("no_office");
  const { came, error } = await answer.json().catch(() => ({ error: "no_office" }));
  if (!answer.ok) throw new Error(error);
  return came;
}
