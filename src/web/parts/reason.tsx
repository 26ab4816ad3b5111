import { factInfo } from '../../domain/facts.js';
import type { TraceRow, Verdict } from '../../domain/verdict.js';
import { capital, factValueWords, limitWords, metWords, plainWords, shortDay } from '../words.js';

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
          <td>{factValueWords(actual, unit)}</td>
          <td>{limitWords(op, limit, unit)}</td>
          <td class={`met-${met}`}>{metWords(met)}</td>
        </tr>
      </tbody>
    ))}
  </table>
);

const isDeciding = (verdict: Verdict, row: TraceRow): boolean =>
  row.table === verdict.decidedBy.table && row.row === verdict.decidedBy.row;

/** The rule that decided, then whatever else took effect. */
export function decidingRows(verdict: Verdict): TraceRow[] {
  const effective = verdict.trace.filter((row) => isDeciding(verdict, row) || (row.met === 'yes' && row.effect));
  return effective.sort((a, b) => Number(isDeciding(verdict, b)) - Number(isDeciding(verdict, a)));
}

/** Why, and what would change it: what a person needs to agree or to argue. */
export const Why = ({ verdict }: { verdict: Verdict }) => {
  const because = decidingRows(verdict)
    .map((row) => row.because)
    .filter((text) => text !== undefined && text !== verdict.sentence);
  const change = verdict.nearestChange;
  return (
    <>
      <p>{verdict.sentence}</p>
      {because.map((text) => (
        <p>{text}</p>
      ))}
      {change && (
        <p>
          <b>What would change it:</b> {change.sentence}
          {change.expectedOn && ` Expected about ${shortDay(change.expectedOn)}.`}
        </p>
      )}
    </>
  );
};

/** Why in full with the conditions, for the rules that took effect. */
export const Reason = ({ verdict }: { verdict: Verdict }) => (
  <>
    <Why verdict={verdict} />
    {decidingRows(verdict)
      .filter((row) => row.conditions.length > 0)
      .slice(0, 1)
      .map((row) => (
        <Conditions row={row} />
      ))}
  </>
);

/** Every rule that was looked at, for the page of one batch. */
export const FullTrace = ({ verdict }: { verdict: Verdict }) => (
  <>
    {verdict.trace.map((row) => (
      <details class="rule">
        <summary>
          {capital(plainWords(row.row))}: {metWords(row.met)}
          {isDeciding(verdict, row) && ' (this decided)'}
        </summary>
        {row.because && <p>{row.because}</p>}
        {row.conditions.length > 0 ? <Conditions row={row} /> : <p>It has no conditions.</p>}
        {row.source && <p class="source">Source: {row.source}</p>}
      </details>
    ))}
  </>
);
