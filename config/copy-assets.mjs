// Copies what the compiler leaves behind: every file under src that is not TypeScript goes to the same place under dist.
import { copyFile, mkdir, readdir } from 'node:fs/promises';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('..', import.meta.url));
const from = join(root, 'src');
const to = join(root, 'dist');

const entries = await readdir(from, { recursive: true, withFileTypes: true });
for (const entry of entries) {
  if (!entry.isFile() || /\.tsx?$/.test(entry.name)) continue;
  const source = join(entry.parentPath, entry.name);
  const target = join(to, relative(from, source));
  await mkdir(dirname(target), { recursive: true });
  await copyFile(source, target);
}
