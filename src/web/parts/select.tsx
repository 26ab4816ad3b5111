export type Option = readonly [value: string, words: string];

interface SelectProps {
  readonly id: string;
  readonly name: string;
  readonly label: string;
  readonly chosen?: string | undefined;
  /** Words of an empty first choice; left out: there is none. */
  readonly empty?: string;
  readonly options: readonly Option[];
  /** Choices under headings, after those without. */
  readonly groups?: readonly { readonly heading: string; readonly options: readonly Option[] }[];
}

/** One choice of several, with its label. */
export const Select = ({ id, name, label, chosen, empty, options, groups = [] }: SelectProps) => {
  const item = ([value, words]: Option) => (
    <option value={value} selected={value === chosen}>
      {words}
    </option>
  );
  return (
    <p>
      <label for={id}>{label}</label>
      <select id={id} name={name}>
        {empty !== undefined && <option value="">{empty}</option>}
        {options.map(item)}
        {groups.map((group) => (
          <optgroup label={group.heading}>{group.options.map(item)}</optgroup>
        ))}
      </select>
    </p>
  );
};
