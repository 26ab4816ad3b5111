// Keeps the last list on the phone. Pages come from the service when it answers in time and from the phone when it
// does not; the page itself tells how old it is. Forms are never touched here.

const CACHE = 'leafturn-1';
const WAIT_MS = 6000;
const PAGES_KEPT = 80;

addEventListener('install', () => skipWaiting());
addEventListener('activate', (event) => event.waitUntil(clients.claim()));

const isAsset = (url) => url.pathname.startsWith('/assets/');
const isPage = (url) => url.pathname === '/' || url.pathname === '/sites' || url.pathname.startsWith('/sites/');

/** Keeps a good answer; of an asset only the newest version, of pages only the newest few. */
const put = async (request, response) => {
  if (!response.ok || response.redirected) return;
  const cache = await caches.open(CACHE);
  const url = new URL(request.url);
  if (isAsset(url)) await cache.delete(request, { ignoreSearch: true });
  await cache.put(request, response);
  const pages = (await cache.keys()).filter((one) => !isAsset(new URL(one.url)));
  for (const old of pages.slice(0, Math.max(0, pages.length - PAGES_KEPT))) await cache.delete(old);
};

const fromAssets = async (request) => {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(request);
  if (kept) return kept;
  try {
    const response = await fetch(request);
    await put(request, response.clone());
    return response;
  } catch (error) {
    // Another version is better than none.
    const other = await cache.match(request, { ignoreSearch: true });
    if (other) return other;
    throw error;
  }
};

const kept = async (request) => {
  const cache = await caches.open(CACHE);
  const url = new URL(request.url);
  const exact = await cache.match(request);
  if (exact) return exact;
  // The list under another address is the same list, and the bare form to note something serves every batch: the page
  // fills in which. A form kept for one batch must never stand in for another, so no other address is let go loosely.
  if (/^\/sites\/[^/]+(\/note)?$/.test(url.pathname)) return cache.match(url.origin + url.pathname);
  return lastList(cache, url);
};

/** The start page leads to the list that was kept last. */
const lastList = async (cache, url) => {
  if (url.pathname !== '/') return undefined;
  const lists = (await cache.keys()).filter((one) => /^\/sites\/[^/]+$/.test(new URL(one.url).pathname));
  return lists.length > 0 ? cache.match(lists[lists.length - 1]) : undefined;
};

const fromPages = async (event) => {
  const { request } = event;
  const fresh = fetch(request).then((response) => {
    event.waitUntil(put(request, response.clone()));
    return response;
  });
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS));
  try {
    const first = await Promise.race([fresh, late]);
    if (first && first.status < 500) return first;
    return (await kept(request)) ?? (await fresh);
  } catch (error) {
    const page = await kept(request);
    if (page) return page;
    throw error;
  }
};

addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== location.origin) return;
  if (isAsset(url)) event.respondWith(fromAssets(request));
  else if (request.mode === 'navigate' && isPage(url)) event.respondWith(fromPages(event));
});

/** The first visit comes before this worker does, so the page says what to keep of it. */
addEventListener('message', (event) => {
  const addresses = event.data?.keep ?? [];
  event.waitUntil(
    Promise.all(
      addresses.map(async (address) => {
        const request = new Request(address);
        if (
          request.url.startsWith(`${location.origin}/`) &&
          !(isAsset(new URL(request.url)) && (await caches.match(request)))
        )
          await put(request, await fetch(request)).catch(() => undefined);
      }),
    ),
  );
});
