import type { RowKind } from '../words.js';

export type IconName = RowKind | 'alert' | 'task' | 'tick' | 'shade' | 'stale';

/** Shapes that differ in outline, so that they can be told apart without colour. */
export const IconSprite = () => (
  <svg hidden aria-hidden="true">
    <symbol id="i-full" viewBox="0 0 24 24">
      <path d="M12 2C8 8 5 11.5 5 15a7 7 0 0 0 14 0c0-3.5-3-7-7-13z" />
    </symbol>
    <symbol id="i-light" viewBox="0 0 24 24">
      <path class="hollow" d="M12 2C8 8 5 11.5 5 15a7 7 0 0 0 14 0c0-3.5-3-7-7-13z" />
      <path d="M5 15a7 7 0 0 0 14 0z" />
    </symbol>
    <symbol id="i-dry" viewBox="0 0 24 24">
      <path class="hollow" d="M4 12h16" />
    </symbol>
    <symbol id="i-wait" viewBox="0 0 24 24">
      <path class="hollow" d="M6 3h12M6 21h12M7 3c0 6 10 12 10 18M17 3C17 9 7 15 7 21" />
    </symbol>
    <symbol id="i-look" viewBox="0 0 24 24">
      <path class="hollow" d="M2 12c5-8 15-8 20 0-5 8-15 8-20 0z" />
      <circle cx="12" cy="12" r="3.5" />
    </symbol>
    <symbol id="i-alert" viewBox="0 0 24 24">
      <path class="hollow" d="M12 3 22 21H2zM12 10v5M12 17v2" />
    </symbol>
    <symbol id="i-task" viewBox="0 0 24 24">
      <path class="hollow" d="M5 4h14v17H5zM9 2h6v4H9zM8 12h8M8 16h5" />
    </symbol>
    <symbol id="i-tick" viewBox="0 0 24 24">
      <path class="hollow" d="m4 13 5 5L20 6" />
    </symbol>
    <symbol id="i-shade" viewBox="0 0 24 24">
      <circle class="hollow" cx="12" cy="12" r="9" />
      <path d="M12 3a9 9 0 0 0 0 18z" />
    </symbol>
    <symbol id="i-stale" viewBox="0 0 24 24">
      <circle class="hollow" cx="12" cy="12" r="9" />
      <path class="hollow" d="M12 7v5l4 2" />
    </symbol>
  </svg>
);

/** The words beside it say the same, so it is nothing to a screen reader. */
export const Icon = ({ name }: { name: IconName }) => (
  <svg class="icon" aria-hidden="true">
    <use href={`#i-${name}`} />
  </svg>
);
