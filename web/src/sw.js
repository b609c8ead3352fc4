// Keeps the page at hand: with the program away a reload still shows it. Never answers for the program's data.
const files = __FILES__;
const name = `page-${__STAMP__}`;

self.addEventListener('install', (e) => {
  e.waitUntil(
    caches
      .open(name)
      .then((c) => c.addAll(files.map((f) => new Request(f, { cache: 'reload' }))))
      .then(() => self.skipWaiting()),
  );
});
self.addEventListener('activate', (e) => {
  e.waitUntil(
    caches
      .keys()
      .then((keys) => Promise.all(keys.filter((k) => k.startsWith('page-') && k !== name).map((k) => caches.delete(k))))
      .then(() => self.clients.claim()),
  );
});
self.addEventListener('fetch', (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== 'GET' || url.origin !== location.origin || url.pathname.startsWith('/api/')) return;
  const page = e.request.mode === 'navigate';
  const kept = () => caches.open(name).then((c) => c.match(page ? './' : e.request));
  e.respondWith(page ? fetch(e.request).catch(kept) : kept().then((hit) => hit ?? fetch(e.request)));
});
