/** One numbered step of the database's form. Never changed once released: its text is hashed into every database. */
export interface Migration {
  /** Number and words, e.g. `0001-first`. */
  readonly name: string;
  /** The statements, one text per dialect. */
  readonly sqlite: string;
}
