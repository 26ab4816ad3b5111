import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { afterAll } from 'vitest';

/**
 * Processes that a test kills have to be processes of their own, and plain Node does not read TypeScript. This strips
 * the types of what they need, so that they run the source as it is now and not an older build.
 */
const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const NEEDED = [
  'src/science',
  'src/domain',
  'src/models',
  'src/rules',
  'src/storage',
  'src/ingest',
  'tests/support/ingest-victim.ts',
];

function* sources(path: string): Generator<string> {
  if (path.endsWith('.ts')) {
    yield path;
    return;
  }
  for (const entry of readdirSync(path, { withFileTypes: true }))
    if (entry.isDirectory() || entry.name.endsWith('.ts')) yield* sources(join(path, entry.name));
}

let built: string | undefined;

/** Folder that holds the same tree as the project, as JavaScript. */
export function childBuild(): string {
  if (built) return built;
  const folder = join(ROOT, 'node_modules/.cache/leafturn-children', String(process.pid));
  for (const path of NEEDED)
    for (const file of sources(join(ROOT, path))) {
      const target = join(folder, relative(ROOT, file)).replace(/\.ts$/, '.js');
      mkdirSync(dirname(target), { recursive: true });
      const { outputText } = ts.transpileModule(readFileSync(file, 'utf8'), {
        compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext, verbatimModuleSyntax: true },
      });
      writeFileSync(target, outputText);
    }
  writeFileSync(join(folder, 'package.json'), '{"type":"module"}');
  built = folder;
  return folder;
}

afterAll(() => {
  if (built) rmSync(built, { recursive: true, force: true });
  built = undefined;
});
