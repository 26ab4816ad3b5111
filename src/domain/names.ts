const collator = new Intl.Collator('en', { numeric: true });

/** Order of names as people number things: bench 2 before bench 10. */
export const compareNames = (a: string, b: string): number => collator.compare(a, b);
