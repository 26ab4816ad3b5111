import { factInfo } from '../../domain/facts.js';
import type { TraceRow, Verdict } from '../../domain/verdict.js';
import { actualWords, capital, limitWords, metWords, plainWords, shortDay } from '../words.js';

/**
 * Conditions of one rule: what it asks, what is the case, and whether that is met. The name of a condition has a line
 * of its own, because four columns do not fit beside each other on a phone.
 */
export const Conditions = ({ row }: { row: TraceRow }) => (
  <table class="conditions">
    <thead>
      <tr>
        <th scope="col">Now</th>
        <th scope="col">Limit</th>
        <th scope="col">Met?</th>
      </tr>
    </thead>
    {row.conditions.map(({ fact, op, limit, unit, actual, met }) => (
      <tbody>
        <tr>
          <th scope="rowgroup" colSpan={3}>
            {capital(factInfo(fact)?.meaning ?? plainWords(fact))}
          </th>
        </tr>
        <tr>
          <td>{actualWords(actual, limit, unit)}</td>
          <td>{limitWords(op, limit, unit)}</td>
          <td class={`met-${met}`}>{metWords(met)}</td>
        </tr>
      </tbody>
    ))}
  </table>
);

const ruleName = (row: TraceRow): string => `${row.table}/${row.row}`;

/** The rule that decided: where it was asked of several drinks, the one that is met, or else the first. */
export function decidingRow({ decidedBy, trace }: Verdict): TraceRow | undefined {
  const asked = trace.filter((row) => row.table === decidedBy.table && row.row === decidedBy.row);
  return asked.find((row) => row.met === 'yes') ?? asked[0];
}

const textsOf = (rows: readonly TraceRow[]): string[] => [
  ...new Set(rows.flatMap((row) => (row.because === undefined ? [] : [row.because]))),
];

/** What stands behind the sentence: the rule that decided, the habit of the phase, and what weather or health forbade. */
export function whyTexts(verdict: Verdict): string[] {
  const deciding = decidingRow(verdict);
  const others = verdict.trace.filter(
    (row) => row.met === 'yes' && (row.table === 'phase' || verdict.vetoes.includes(ruleName(row))),
  );
  return textsOf(deciding ? [deciding, ...others] : others).filter((text) => !verdict.sentence.includes(text));
}

/** What else took effect, such as shade and light. */
export function otherTexts(verdict: Verdict): string[] {
  const told = new Set(whyTexts(verdict));
  const rest = textsOf(verdict.trace.filter((row) => row.met === 'yes' && row.effect !== undefined));
  return rest.filter((text) => !told.has(text) && !verdict.sentence.includes(text));
}

/** Why, with the conditions of the rule that decided, and what would change it: enough to agree or to argue. */
export const Reason = ({ verdict }: { verdict: Verdict }) => {
  const change = verdict.nearestChange;
  const deciding = decidingRow(verdict);
  return (
    <>
      <p>{verdict.sentence}</p>
      {whyTexts(verdict).map((text) => (
        <p>{text}</p>
      ))}
      {change && (
        <p>
          <b>What would change it:</b> {change.sentence}
          {change.expectedOn && ` Expected about ${shortDay(change.expectedOn)}.`}
        </p>
      )}
      {deciding && deciding.conditions.length > 0 && <Conditions row={deciding} />}
    </>
  );
};

/** Every rule that was looked at, for the page of one batch. */
export const FullTrace = ({ verdict }: { verdict: Verdict }) => (
  <>
    {verdict.trace.map((row) => (
      <details class="rule">
        <summary>
          {capital(plainWords(row.row))}
          {row.of && `, ${row.of}`}: {metWords(row.met)}
          {row === decidingRow(verdict) && ' (this decided)'}
        </summary>
        {row.because && <p>{row.because}</p>}
        {row.conditions.length > 0 ? <Conditions row={row} /> : <p>It has no conditions.</p>}
        {row.source && <p class="source">Source: {row.source}</p>}
      </details>
    ))}
  </>
);
