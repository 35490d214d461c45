// The copy of the app that stays on the phone. The build puts VERSION and FILES before this text
// (see offline.mjs): FILES holds the path and the hash of everything that the copy consists of.
/* global VERSION, FILES */

// The storage belongs to the whole host, so the names say whose they are.
const OURS = `rungbook ${registration.scope} `;
const NAME = OURS + VERSION;
const BUILT = new Map(FILES.map(([path, hash]) => [new URL(path, registration.scope).href, hash]));

/** Fetches what the copy lacks, so that a save which broke off goes on where it stood. */
async function save() {
  const copy = await caches.open(NAME);
  const fill = async ([address, integrity]) => {
    if (await copy.match(address, { ignoreVary: true })) return;
    // The server is always asked, but what the page has just loaded is not sent again. The hash lets
    // nothing in but the bytes that were built: no sign-in page of a café, no half of a new version.
    const response = await fetch(address, { cache: "no-cache", redirect: "error", integrity });
    if (!response.ok) throw new Error(`${response.status} for ${address}`);
    await copy.put(address, response);
  };
  await Promise.all([...BUILT].map(fill));
}

async function takeOver() {
  const older = (await caches.keys()).filter((name) => name.startsWith(OURS) && name !== NAME);
  await Promise.all(older.map((name) => caches.delete(name)));
  await clients.claim();
}

async function answer(address, request) {
  return (await caches.match(address, { cacheName: NAME, ignoreVary: true })) ?? fetch(request);
}

addEventListener("install", (event) => event.waitUntil(save()));
addEventListener("activate", (event) => event.waitUntil(takeOver()));

addEventListener("message", (event) => {
  // A newer version waits until someone says so: it must never come in the middle of a class.
  if (event.data === "use") skipWaiting();
  if (event.data === "check") {
    const found = save().then(() => "saved", () => "broken");
    event.waitUntil(found.then((word) => event.source.postMessage(word)));
  }
});

addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  if (method !== "GET") return;
  let [address] = url.split("#");
  // Messengers and shares add a query to the page's address; it is the same page.
  if (mode === "navigate") address = address.replace(/\?.*/, "").replace(/\/index\.html$/, "/");
  if (BUILT.has(address)) event.respondWith(answer(address, event.request));
});
