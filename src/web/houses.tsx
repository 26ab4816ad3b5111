import type { FastifyInstance } from 'fastify';
import { inOrderOfWeight } from './alerts.js';
import type { PageDeps } from './deps.js';
import { currentRound, houseOf, pageContext, siteOf } from './loading.js';
import { HousePage } from './pages/house.js';
import { sendPage } from './reply.js';

type HouseParams = { Params: { siteId: string; houseId: string } };

/** The page of one house: now, the last days, the next ones. */
export function registerHouses(app: FastifyInstance, deps: PageDeps): void {
  app.get<HouseParams>('/sites/:siteId/houses/:houseId', async (request, reply) => {
    const { siteId, houseId } = request.params;
    const site = siteOf(deps, siteId);
    const house = houseOf(site, houseId);
    const [now, outlook, open, collection, round] = await Promise.all([
      deps.houseNow(site, houseId),
      deps.outlook(site.id, houseId),
      deps.alerts.open(site.id),
      deps.collection(site.id),
      currentRound(deps, site.id, deps.today(site.id)),
    ]);
    const shade = round?.houses.find((one) => one.houseId === houseId)?.shade;
    return sendPage(
      request,
      reply,
      <HousePage
        page={pageContext(deps, request, site)}
        house={house}
        now={now}
        alerts={inOrderOfWeight(open.filter((alert) => alert.houseId === houseId))}
        collection={collection}
        {...(outlook && { outlook })}
        {...(shade && { shade })}
      />,
    );
  });
}
