import { findHouse } from '../../domain/site.js';
import type { PageContext } from './context.js';
import { sitePath } from './layout.js';

/** Which cloth hangs now: one tap each. */
export const ClothForm = ({ page, houseId }: { page: PageContext; houseId: string }) => {
  const cloths = findHouse(page.site, houseId)?.cloths ?? [];
  if (cloths.length === 0 || !page.reader.mayWrite) return null;
  return (
    <details id={`cloth-${houseId}`}>
      <summary>Note a cloth put on or taken off</summary>
      <form method="post" action={`${sitePath(page.site.id)}/cloths`} class="buttons" data-outbox>
        <input type="hidden" name="key" value={page.key} />
        <input type="hidden" name="house" value={houseId} />
        <input type="hidden" name="back" value={`${sitePath(page.site.id)}#house-${houseId}`} />
        {cloths.map((cloth) => (
          <button type="submit" name="cloth" value={cloth.id}>
            {cloth.name} is on
          </button>
        ))}
        <button type="submit" name="cloth" value="none">
          No cloth is on
        </button>
      </form>
    </details>
  );
};
