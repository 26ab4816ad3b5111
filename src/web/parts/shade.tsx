import type { HouseShade } from '../../domain/verdict.js';

/** What else is to be said of the cloth of a house, after its sentence: benches, warnings, why, and what it would buy. */
export const ShadeDetails = ({ shade }: { shade: HouseShade }) => {
  const more = [...shade.benches.map(({ sentence }) => sentence), ...shade.warnings];
  return (
    <>
      {more.length > 0 && (
        <ul class="plain">
          {more.map((sentence) => (
            <li>{sentence}</li>
          ))}
        </ul>
      )}
      {(shade.reason ?? shade.buys) !== undefined && (
        <details class="reason-of-shade">
          <summary>Why, and what it would buy</summary>
          {shade.reason && <p>{shade.reason}</p>}
          {shade.buys && <p>{shade.buys}</p>}
        </details>
      )}
    </>
  );
};
