// Notes that could not be sent wait here, in the browser's own database, until the service can be reached.

const open = () =>
  new Promise((resolve, reject) => {
    const request = indexedDB.open('leafturn', 1);
    request.onupgradeneeded = () => request.result.createObjectStore('outbox', { keyPath: 'id', autoIncrement: true });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const inStore = async (mode, work) => {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = database.transaction('outbox', mode);
      const request = work(transaction.objectStore('outbox'));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onabort = transaction.onerror = () => reject(transaction.error);
    });
  } finally {
    database.close();
  }
};

/**
 * A browser that keeps nothing has nothing waiting.
 * @returns {Promise<{id: number, url: string, body: string, tappedAt: number, what: string, problem?: string}[]>}
 */
export const waiting = () => inStore('readonly', (store) => store.getAll()).catch(() => []);
export const keep = (note) => inStore('readwrite', (store) => store.add(note));
export const forget = (id) => inStore('readwrite', (store) => store.delete(id));
const change = (note) => inStore('readwrite', (store) => store.put(note));

/**
 * Sends one form. Answers what the service said; throws when it could not be reached.
 * @returns {Promise<{ok: boolean, status: number, answer: any}>}
 */
export const send = async (url, body, tappedAt) => {
  const form = new URLSearchParams(body);
  if (tappedAt !== undefined) form.set('ago', String(Math.max(0, Date.now() - tappedAt)));
  const response = await fetch(url, {
    method: 'POST',
    headers: { 'x-leafturn-parts': '1' },
    body: form,
    signal: AbortSignal.timeout(15_000),
  });
  const isJson = (response.headers.get('content-type') ?? '').includes('json');
  return { ok: response.ok && isJson, status: response.status, answer: isJson ? await response.json() : {} };
};

/** Worth another try later. What answers without saying so is not the service, but something on the way to it. */
const passes = ({ answer }) => answer.again ?? true;

/**
 * Sends what waits, oldest first. What the service refuses for good stays, with its reason, until the person puts it
 * away: nothing that was tapped is lost in silence.
 * @param {(answer: any) => void} sent
 * @returns {Promise<number | undefined>} what the service answered when it could not take one yet
 */
export const flush = (sent) =>
  // Two open pages must not send the same note; browsers know locks only over https. The key makes it one entry anyhow.
  navigator.locks
    ? navigator.locks.request('leafturn-outbox', { ifAvailable: true }, (lock) => lock && sendAll(sent))
    : sendAll(sent);

const sendAll = async (sent) => {
  for (const note of await waiting()) {
    if (note.problem) continue;
    const result = await send(note.url, note.body, note.tappedAt).catch(() => undefined);
    if (!result) return;
    if (!result.ok && passes(result)) return result.status;
    if (result.ok) {
      await forget(note.id);
      sent(result.answer);
    } else await change({ ...note, problem: result.answer.message ?? `The service answered ${result.status}.` });
  }
};
