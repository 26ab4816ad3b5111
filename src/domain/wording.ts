export const capital = (text: string): string => text.slice(0, 1).toUpperCase() + text.slice(1);
export const uncapital = (text: string): string => text.slice(0, 1).toLowerCase() + text.slice(1);

/** Making a format costs more than the writing of a row, so each is made once. */
const formats = Array.from(
  { length: 4 },
  (_, digits) => new Intl.NumberFormat('en-GB', { maximumFractionDigits: digits }),
);
export const decimal = (value: number, digits: 0 | 1 | 2 | 3): string =>
  (formats[digits] as Intl.NumberFormat).format(value);

export const count = (n: number, one: string, many = `${one}s`): string => `${decimal(n, 0)} ${n === 1 ? one : many}`;

/** `a, b and c`. */
export const inSeries = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
