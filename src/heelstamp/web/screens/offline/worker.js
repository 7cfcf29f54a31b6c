// Keeps the bench readable without a connection: what belongs to every page when it is installed,
// each page and frame when it was last seen. A page comes from the shop whenever the shop answers.
const SHELL = `shell-${KEPT.edition}`; // KEPT: what the shop writes above
const PAGES = "pages";
const FRAMES = "frames";
const PAGES_MAX = 200;
const FRAMES_MAX = 400;

self.addEventListener("install", (event) => {
  const fresh = KEPT.files.map((one) => new Request(one, { cache: "reload" }));
  event.waitUntil(
    caches
      .open(SHELL)
      .then((cache) => cache.addAll(fresh))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  const kept = [SHELL, PAGES, FRAMES];
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((one) => !kept.includes(one)).map((one) => caches.delete(one))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (url.pathname.endsWith(".pdf")) return; // papers are not left lying on a device
  if (url.pathname.endsWith("/live")) return; // a stream has no end to be kept
  if (url.pathname.includes("/uv-lamp/tile/")) return; // pieces of large pictures: the browser keeps them
  if (url.pathname.includes("/sound/")) return; // players ask for ranges, which a cache cannot keep
  if (url.pathname.startsWith("/static/")) event.respondWith(first(SHELL, request));
  else if (url.pathname.includes("/frame/")) event.respondWith(first(FRAMES, request, FRAMES_MAX));
  else event.respondWith(newest(request));
});

async function first(name, request, most) {
  const found = await caches.match(request, { ignoreVary: true });
  if (found) return found;
  const answer = await fetch(request);
  if (answer.ok) await put(name, request, answer.clone(), most);
  return answer;
}

async function newest(request) {
  try {
    const answer = await fetch(request);
    if (answer.ok) await put(PAGES, request.url, answer.clone(), PAGES_MAX);
    return answer;
  } catch (error) {
    const found = await caches.match(request.url, { ignoreVary: true });
    if (found) return found;
    const lost = await caches.match("/unreachable");
    if (lost && request.mode === "navigate") return lost;
    throw error;
  }
}

async function put(name, request, answer, most) {
  const cache = await caches.open(name);
  await cache.put(request, answer);
  if (!most) return;
  const keys = await cache.keys();
  await Promise.all(keys.slice(0, Math.max(0, keys.length - most)).map((one) => cache.delete(one)));
}
