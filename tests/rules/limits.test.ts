import { describe, expect, it } from 'vitest';
import { limitsFor } from '../../src/rules/limits.js';
import { catalogue, groupOf, rulebook } from './support.js';

const of = (group: string, overrides: Parameters<typeof limitsFor>[3] = []) =>
  limitsFor(rulebook, groupOf(group), catalogue.general, overrides);

describe('where a limit comes from', () => {
  it('is the catalogue where that has a value, else the default', () => {
    expect(of('conophytum').base['min-wet']).toBe(groupOf('conophytum').climate.minSafeWetC);
    expect(of('conophytum').base['wet-night-hours']).toBe(6);
    expect(of('dinteranthus').base['shade-peak']).toBeNull();
  });

  it('is the rulebook where it names the group or the phase', () => {
    expect(of('echeveria').base['hot-spell-cap']).toBe('full');
    expect(of('conophytum').base['hot-spell-cap']).toBe('none');
    expect(of('conophytum').phases['dormant-warm'].values.rescue).toBe(true);
    expect(of('monilaria-oophytum').phases['dormant-warm'].values.rescue).toBe(false);
  });

  it('is the house before all, the narrower the sooner', () => {
    const limits = of('lithops-winter-rain', [
      { name: 'drink-gap', value: 8 },
      { name: 'drink-gap', phase: 'growing', value: 9 },
      { name: 'drink-gap', phase: 'growing', drink: 'light', value: 15 },
      { name: 'drink-gap', group: 'echeveria', phase: 'growing', value: 40 },
    ]);
    expect(limits.phases.growing.drinks.map((drink) => drink.values['drink-gap'])).toEqual([9, 15]);
    expect(limits.phases.papery.drinks.every((drink) => drink.values['drink-gap'] === 8)).toBe(true);
  });

  it('gives each drink of the phase its own values, in the order of the policy', () => {
    const { drinks, note } = of('conophytum').phases['dormant-cold'];
    expect(drinks.map((drink) => drink.amount)).toEqual(['full', 'light']);
    expect(drinks.map((drink) => drink.values['drink-night-least'])).toEqual([5, null]);
    expect(note).toMatch(/nights above 5 °C/);
  });
});
