// Keeps the page of one round on this phone, and shows it where there is no network. Its scope is that page alone.
"use strict";

const page = self.location.pathname.replace(/\/sw\.js$/, "");
const name = "pondround" + page;
// House value: so long a page may take before the one that was kept is shown instead, in milliseconds.
const PATIENCE = 8000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", event => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", event => {
  const { mode, method, url } = event.request;
  if (new URL(url).origin !== self.location.origin) return;
  if (mode === "navigate") event.respondWith(shown(event));
  else if (method === "GET" && !new URL(url).pathname.startsWith(page)) event.respondWith(fetched(event.request));
});

// The script, the style and the icon of the page.
async function fetched(request) {
  try {
    return await fetch(request);
  } catch {
    return (await found(request)) || Response.error();
  }
}

async function shown(event) {
  const { request } = event;
  const url = new URL(request.url);
  const isRound = request.method === "GET" && url.pathname === page;
  let answer;
  try {
    answer = await (isRound ? inTime(fetch(request)) : fetch(request));
  } catch {
    const there = await found(page);
    if (!there) return Response.error();
    // What is not kept, and a form that needs a network, lead back to the round, which says so.
    return isRound ? there : Response.redirect(page + "#no-network", 303);
  }
  if (isRound) event.waitUntil(noted(answer.clone(), url).catch(() => {}));
  return answer;
}

function inTime(answer) {
  return Promise.race([answer, new Promise((_, refuse) => setTimeout(refuse, PATIENCE, new Error("too slow")))]);
}

// What the answer means for what is kept.
async function noted(answer, url) {
  if (answer.status === 404 && !answer.headers.has("Retry-After")) {
    // The link was revoked: nothing of it stays, nor what was not sent yet.
    await given_up();
    indexedDB.deleteDatabase(name);
  } else if (answer.ok && !(answer.headers.get("Content-Security-Policy") || "").includes("worker-src")) {
    // It is not offered any more. What was not sent yet waits until it is again.
    await given_up();
  } else if (answer.ok && !url.searchParams.has("told")) {
    await (await caches.open(name)).put(page, answer);
  }
}

async function given_up() {
  await caches.delete(name);
  await self.registration.unregister();
}

async function found(request) {
  try {
    return await caches.match(request, { cacheName: name });
  } catch {
    return undefined;
  }
}
