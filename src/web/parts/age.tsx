import { ago } from '../words.js';

/** How long ago, after a wall-clock time. Kept true by the browser module while the page is open; paper has no age. */
export const Age = ({ at, now }: { at: number; now: number }) => (
  <span class="age">
    , <time data-at={at}>{ago(at, now)}</time>
  </span>
);
