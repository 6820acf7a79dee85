// Keeps the whole app after the first load, each file checked against its hash.
// Nothing is ever answered from elsewhere, and each answer carries the content policy.

const APP = /*APP*/ null;

const HERE = new URL("./", self.location).href;
const address = (name) => new URL(name, HERE).href;
const CACHE = `app ${HERE} ${Object.values(APP.files).join("").length} ${hashOf(APP)}`;

function hashOf(app) {
  let hash = 0;
  for (const letter of JSON.stringify(app.files)) hash = (hash * 31 + letter.charCodeAt(0)) | 0;
  return hash >>> 0;
}

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    const list = new Request(address("app.json"), { cache: "no-cache" });
    await cache.put(address("app.json"), await fetch(list));
    for (const [name, integrity] of Object.entries(APP.files)) {
      const request = new Request(address(name), { integrity, cache: "no-cache" });
      const answer = await fetch(request);
      if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
      await cache.put(address(name), answer);
    }
  })());
});

// A new version waits until no tab is open any more: a visit ends with what it began with.
self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith(`app ${HERE} `) && name !== CACHE) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  if (event.request.method === "POST" && event.request.url === address("packs")) return; // to the office
  if (event.request.url === address("leaf-logs")) return; // the server's own, never kept
  event.respondWith(kept(event.request));
});

async function kept(request) {
  const asked = request.url.split(/[?#]/)[0];
  const url = asked === HERE ? address("index.html") : asked;
  const answer = request.method === "GET" && await (await caches.open(CACHE)).match(url);
  if (!answer) return Response.error();
  const headers = new Headers(answer.headers);
  headers.set("Content-Security-Policy", APP.policy);
  return new Response(answer.body, { status: answer.status, headers });
}
