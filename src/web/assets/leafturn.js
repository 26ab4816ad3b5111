// The pages work without this file. It keeps the place on the list when something is noted, keeps notes while there is
// no connection, tells the age of what is shown, and says when the list is no longer the newest.
import { flush, forget, keep, send, waiting } from './outbox.js';

const shownAt = Number(document.body.dataset.shownAt);
const { site: siteId, clock } = document.body.dataset;
const live = document.getElementById('live');
const today = document.querySelector('[data-digest]');

// --- what is told on top ---

const told = new Map();
/** Shows a message under a name, or takes it away. `action` is a button's words and what it does. */
const tell = (name, text, ...actions) => {
  if (!text) {
    if (told.has(name)) told.get(name).remove();
    told.delete(name);
    return;
  }
  const line = told.get(name) ?? document.createElement('p');
  if (line.firstChild?.textContent === text) return;
  const words = document.createElement('span');
  words.textContent = text;
  line.replaceChildren(words);
  for (const [label, act] of actions) {
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = label;
    button.addEventListener('click', act);
    line.append(button);
  }
  if (!told.has(name)) live.append(line);
  told.set(name, line);
};

// Ages go by the clock of the service: a phone's may be wrong, and a kept page cannot tell it. What the phone's clock
// was off by when the service was last reached is remembered.
let offBy = localStorage.getItem('off-by') === null ? undefined : Number(localStorage.getItem('off-by'));
const setClock = (serviceNow) => {
  offBy = serviceNow - Date.now();
  localStorage.setItem('off-by', String(offBy));
  tellAges();
};

const ago = (at) => {
  const minutes = Math.floor((Date.now() + (offBy ?? 0) - at) / 60_000);
  if (minutes < 1) return 'just now';
  if (minutes < 90) return minutes === 1 ? '1 minute ago' : `${minutes} minutes ago`;
  const hours = Math.round(minutes / 60);
  return hours < 36 ? `${hours} hours ago` : `${Math.round(hours / 24)} days ago`;
};

const tellAges = () => {
  if (offBy === undefined) return;
  for (const time of document.querySelectorAll('time[data-at]')) time.textContent = ago(Number(time.dataset.at));
};

let isOffline = false;
let notesWaiting = 0;

/** One short line that stays in sight: it must not cover what is being read. */
const tellState = () => {
  const wait = notesWaiting === 0 ? '' : notesWaiting === 1 ? '1 note waits here.' : `${notesWaiting} notes wait here.`;
  const age = `${clock ? `Page as of ${clock}` : 'Page'}, ${ago(shownAt)}.`;
  const send = isOffline || !wait ? [] : [['Send now', () => sendWaiting()]];
  tell('state', isOffline ? `No connection. ${age} ${wait}` : wait, ...send);
};

const tellOffline = (offline) => {
  isOffline = offline;
  tellState();
};

const tellWaiting = async () => {
  const notes = await waiting();
  // What was tapped before a reload must not look untouched.
  for (const note of notes) {
    const said = new URLSearchParams(note.body);
    const tick = said.get('tick') ?? said.get('task');
    const button = tick && !note.problem && document.querySelector(`button[value="${CSS.escape(tick)}"]`);
    if (button) queued(button.form, button, note.what);
  }
  const refused = notes.filter((note) => note.problem);
  notesWaiting = notes.length - refused.length;
  tellState();
  for (const note of refused)
    tell(`refused-${note.id}`, `Not taken: ${note.what}. ${note.problem}`, [
      'Put this away',
      async () => {
        await forget(note.id);
        tell(`refused-${note.id}`, '');
      },
    ]);
};

// --- parts of the list ---

const renewKeys = () => {
  // On a house network without https there is no randomUUID; random values there are.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const key = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  for (const input of document.querySelectorAll('input[name=key]')) input.value = key;
};

/** Puts in the parts that changed, keeping what is folded open and the place on the screen. */
const putParts = ({ parts = {}, digest }, anchorId) => {
  const before = document.getElementById(anchorId)?.getBoundingClientRect().top;
  for (const [id, html] of Object.entries(parts)) {
    const old = document.getElementById(id);
    if (!old) continue;
    const isOpen = [...old.querySelectorAll('details[open]')].map((one) => placeOf(one));
    const template = document.createElement('template');
    template.innerHTML = html;
    const fresh = template.content.firstElementChild;
    for (const details of fresh.querySelectorAll('details')) if (isOpen.includes(placeOf(details))) details.open = true;
    old.replaceWith(fresh);
  }
  if (digest && today) today.dataset.digest = digest;
  renewKeys();
  showOnlyLeft();
  const anchor = document.getElementById(anchorId);
  if (!anchor) return;
  anchor.focus({ preventScroll: true });
  if (before !== undefined) scrollBy({ top: anchor.getBoundingClientRect().top - before, behavior: 'instant' });
};

const placeOf = (details) => details.id || `${details.closest('li[id]')?.id} ${details.className}`;

// --- noting ---

const queued = (form, button, what) => {
  const place = button?.closest('.row, .run, .dry-row') ?? form;
  const said = document.createElement('p');
  said.className = 'stale';
  said.setAttribute('role', 'status');
  const words = document.createElement('span');
  words.textContent = `Kept on this phone: ${what}. It is sent when there is a connection.`;
  said.append(words);
  const buttons = button?.closest('.buttons');
  if (buttons && place !== form) buttons.replaceWith(said);
  else place.append(said);
};

const take = async (form, button) => {
  const body = new URLSearchParams(new FormData(form, button));
  const what =
    button?.getAttribute('aria-label') ??
    `${button?.textContent ?? ''} ${document.getElementById('note-name')?.textContent ?? ''}`.trim();
  const tappedAt = Date.now();
  if (button) button.disabled = true;
  let result;
  try {
    result = await send(form.action, body, undefined);
  } catch {
    try {
      await keep({ url: form.action, body: body.toString(), tappedAt, what });
    } catch {
      if (button) button.disabled = false;
      tell('problem', 'No connection, and this browser keeps nothing. Write it down and note it later.', [
        'Close',
        () => tell('problem', ''),
      ]);
      return;
    }
    renewKeys();
    queued(form, button, what);
    tellOffline(true);
    await tellWaiting();
    return;
  }
  if (button) button.disabled = false;
  if (!result.ok) {
    if (result.status === 401) location.assign(`/sign-in?then=${encodeURIComponent(location.pathname)}`);
    const { title, message, problems = [] } = result.answer;
    const more = problems.map((one) => `${one.mend ?? `Expected ${one.expected}.`}`).join(' ');
    tell('problem', `${title ?? 'This could not be noted'}: ${message ?? ''} ${more}`, [
      'Close',
      () => tell('problem', ''),
    ]);
    live.scrollIntoView({ block: 'nearest' });
    return;
  }
  tell('problem', '');
  const { parts = {}, back } = result.answer;
  const anchorId = new URL(back, location.href).hash.slice(1);
  if (
    today &&
    Object.keys(parts).some((id) => (id.startsWith('house-') || id === 'due') && document.getElementById(id))
  )
    putParts(result.answer, document.getElementById(anchorId) ? anchorId : button?.closest('[id]')?.id);
  else {
    // Elsewhere the page itself shows what was noted.
    const url = new URL(back, location.href);
    if (url.pathname === location.pathname && url.search === location.search) location.reload();
    else location.assign(url);
  }
};

document.addEventListener('submit', (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || form.dataset.outbox === undefined) return;
  event.preventDefault();
  take(form, event.submitter);
});

const sendWaiting = async () => {
  const stoppedBy = await flush((answer) => putParts(answer));
  tell('sign-in', stoppedBy === 401 && 'Sign in to send what waits on this phone.', [
    'Sign in',
    () => location.assign(`/sign-in?then=${encodeURIComponent(location.pathname)}`),
  ]);
  await tellWaiting();
};

// --- is this still the newest? ---

const beat = async () => {
  if (!siteId) return;
  try {
    const response = await fetch(`/sites/${siteId}/pulse`, { signal: AbortSignal.timeout(8000) });
    tellOffline(false);
    const { digest, now } = response.ok ? await response.json() : {};
    if (now) setClock(now);
    if (today && digest !== undefined) {
      const other = digest !== null && digest !== today.dataset.digest;
      tell('newer', other && 'The list has changed since this page was opened.', [
        'Show the new list',
        () => location.reload(),
      ]);
    }
    await sendWaiting();
  } catch {
    tellOffline(true);
    await tellWaiting();
  }
};

// The note page of any batch must open without a connection: the name is carried along, the kept form is filled here.
document.addEventListener('click', (event) => {
  const link = event.target instanceof Element && event.target.closest('a[data-note]');
  if (link) sessionStorage.setItem('note', JSON.stringify({ name: link.dataset.note, href: link.href }));
});
const ask = document.querySelector('[data-ask]');
const asked = new URLSearchParams(location.search);
if (ask && (asked.has('batch') || asked.has('bench'))) {
  const carried = JSON.parse(sessionStorage.getItem('note') ?? 'null');
  const kind = asked.has('batch') ? 'batch' : 'bench';
  document.getElementById('note-name').textContent = carried?.href === location.href ? carried.name : asked.get(kind);
  const input = document.createElement('input');
  Object.assign(input, { type: 'hidden', name: kind, value: asked.get(kind) });
  ask.replaceWith(input);
}

const showOnlyLeft = () => {
  const box = document.getElementById('only-left');
  if (box) box.checked = sessionStorage.getItem('only-left') === 'yes';
};
document.addEventListener('change', ({ target }) => {
  if (target.id === 'only-left') sessionStorage.setItem('only-left', target.checked ? 'yes' : 'no');
});
showOnlyLeft();

// A batch that is folded away opens when it is jumped to.
const openTarget = () => {
  const target = location.hash.length > 1 && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target) return;
  for (let fold = target.closest('details'); fold; fold = fold.parentElement.closest('details')) fold.open = true;
  target.scrollIntoView();
};
openTarget();
addEventListener('hashchange', openTarget);
document.getElementById('problem')?.focus();
if (asked.has('said')) {
  asked.delete('said');
  const rest = asked.toString();
  history.replaceState(null, '', location.pathname + (rest ? `?${rest}` : '') + location.hash);
}

addEventListener('online', beat);
addEventListener('focus', beat);
addEventListener('pageshow', (event) => {
  // What was tapped before the page went to memory must not swallow a new tap.
  if (event.persisted) renewKeys();
  beat();
});
document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && beat());
setInterval(tellAges, 30_000);
setInterval(() => document.visibilityState === 'visible' && beat(), 120_000);
tellAges();
// A page from memory or from the phone carries an old key.
renewKeys();

if (navigator.serviceWorker) {
  // Without it the page works as it is; it is asked for again on the next one.
  navigator.serviceWorker.register('/sw.js').catch(() => {});
  navigator.serviceWorker.ready.then((registration) => {
    const assets = [...document.querySelectorAll('link[href], script[src]')].map((one) => one.href || one.src);
    const pages = siteId ? [location.href.split('#')[0], `/sites/${siteId}/note`] : [];
    registration.active?.postMessage({ keep: [...assets, new URL('./outbox.js', import.meta.url).href, ...pages] });
  });
}

// --- the chart of a house, where there is one ---

for (const figure of document.querySelectorAll('[data-chart]'))
  import(figure.dataset.chart)
    .then(({ drawChart }) => drawChart(figure))
    // The table beside it says the same.
    .catch(() => {
      figure.hidden = true;
    });
