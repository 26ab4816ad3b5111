// Imports go down only. The order here is the layer order of DEVELOPERS.md.
const layers = [
  'science',
  'domain',
  'models',
  'rules',
  'storage',
  'ingest',
  'forecast',
  'advice',
  'notify',
  'http',
  'web',
];
const pure = '^src/(science|domain|models|rules)/';

module.exports = {
  forbidden: [
    ...layers.map((layer, index) => ({
      name: `${layer}-imports-down-only`,
      severity: 'error',
      comment: `src/${layer} may import itself and the layers below it.`,
      from: { path: `^src/${layer}/` },
      to: {
        path: [
          ...(index + 1 < layers.length ? [`^src/(${layers.slice(index + 1).join('|')})/`] : []),
          '^src/app/',
          '^src/[^/]+\\.tsx?$',
        ],
      },
    })),
    {
      name: 'pure-layers-do-no-io',
      severity: 'error',
      comment: 'Layers 1-4 compute. They may use only the packages listed here.',
      from: { path: pure },
      to: {
        dependencyTypesNot: ['local', 'localmodule', 'type-only'],
        pathNot: ['^src/', '(^|/)node_modules/(suncalc|zod|temporal-polyfill|fastest-levenshtein)/'],
      },
    },
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    { name: 'no-unresolvable', severity: 'error', from: {}, to: { couldNotResolve: true } },
    {
      name: 'no-orphans',
      severity: 'error',
      comment: 'A file nobody imports is dead.',
      from: { orphan: true, pathNot: ['^src/(main|cli)\\.ts$', '\\.d\\.ts$', '^src/web/assets/'] },
      to: {},
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'node', 'default', 'types'] },
  },
};
