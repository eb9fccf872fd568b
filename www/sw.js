// Keeps the whole page on this machine, so that it opens without a network.
//
// The build fills in the next two lines. All files are taken in together and under one version, so that parts of two
// builds never meet. While the server can be reached and has another build, the page comes from the server.
const VERSION = 'not built';
const FILES = [];

const PREFIX = 'solewright-';
// A server that does not say its version within this time counts as out of reach, ms.
const PATIENCE_MS = 1500;

let serverHasAnother = false;

self.addEventListener('install', (event) => {
  event.waitUntil(takeIn().then(() => self.skipWaiting()));
});

self.addEventListener('activate', (event) => {
  event.waitUntil(dropOthers().then(() => self.clients.claim()));
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method === 'GET' && new URL(request.url).origin === self.location.origin) {
    event.respondWith(request.mode === 'navigate' ? page(request) : part(request));
  }
});

async function takeIn() {
  const cache = await caches.open(PREFIX + VERSION);
  await cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })));
}

async function dropOthers() {
  const names = await caches.keys();
  const others = names.filter((name) => name.startsWith(PREFIX) && name !== PREFIX + VERSION);
  await Promise.all(others.map((name) => caches.delete(name)));
}

async function page(request) {
  serverHasAnother = (await versionOfServer()) !== VERSION;
  return part(request);
}

async function part(request) {
  if (serverHasAnother) return fetch(request);
  const cache = await caches.open(PREFIX + VERSION);
  const kept = await cache.match(request, { ignoreSearch: true });
  return kept ?? fetch(request);
}

async function versionOfServer() {
  try {
    const answer = await fetch('version.txt', { cache: 'no-store', signal: AbortSignal.timeout(PATIENCE_MS) });
    return answer.ok ? (await answer.text()).trim() : VERSION;
  } catch {
    return VERSION;
  }
}
