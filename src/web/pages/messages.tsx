import type { ChannelView } from '../../notify/notifications.js';
import type { Delivery } from '../../storage/repositories.js';
import type { PageContext } from '../parts/context.js';
import { alertsPath, Layout, messagesPath } from '../parts/layout.js';
import { count, momentInWords } from '../words.js';

const KINDS: Record<ChannelView['kind'], string> = {
  webhook: 'to another program, over the web',
  mail: 'by e-mail',
  mqtt: 'over the broker of the sensors',
};

export interface MessagesPageProps {
  readonly page: PageContext;
  readonly channels: readonly ChannelView[];
  /** Messages of this site that were given up; none for who may only read. */
  readonly dead: readonly Delivery[];
  readonly said?: string;
}

/** How messages reach people, whether they do, and what did not arrive. */
export const MessagesPage = ({ page, channels, dead, said }: MessagesPageProps) => {
  const when = (at: number): string => momentInWords(page.site.zone, at);
  const action = messagesPath(page.site.id);
  return (
    <Layout title="Messages" site={page.site} severalSites={page.severalSites} shownAt={page.now}>
      <h1>Messages</h1>
      {said && <p role="status">{said}</p>}
      {channels.length === 0 && (
        <p>Nobody is sent a message: no way to send one is set up. Ways stand in the site file under notifications.</p>
      )}
      {channels.map((channel) => (
        <section class="alert" aria-label={channel.name}>
          <h2>{channel.name}</h2>
          <p class="facts">{KINDS[channel.kind]}</p>
          <p>{channel.lastSentAt === null ? 'Nothing was sent yet.' : `Last sent ${when(channel.lastSentAt)}.`}</p>
          {channel.lastTrouble !== null && channel.lastTroubleAt !== null && (
            <p>
              Trouble, {when(channel.lastTroubleAt)}: {channel.lastTrouble}
            </p>
          )}
          {channel.waiting > 0 && <p>{count(channel.waiting, 'message')} waiting.</p>}
          {page.reader.mayWrite && (
            <form method="post" action={`${action}/test`} class="buttons">
              <button type="submit" name="channel" value={channel.name} aria-label={`Send a test: ${channel.name}`}>
                Send a test
              </button>
            </form>
          )}
        </section>
      ))}
      {dead.length > 0 && (
        <section aria-labelledby="dead">
          <h2 id="dead">What did not arrive</h2>
          {dead.map((delivery) => (
            <div class="alert">
              <p>
                <b>{delivery.message.title}</b>
              </p>
              <p class="facts">
                {delivery.channel}
                {delivery.recipient && `, ${delivery.recipient}`} · {when(delivery.message.at)} · tried{' '}
                {count(delivery.tries, 'time')}
              </p>
              {delivery.trouble && <p>{delivery.trouble}</p>}
              <form method="post" action={`${action}/again`} class="buttons">
                <button
                  type="submit"
                  name="id"
                  value={delivery.id}
                  aria-label={`Send again: ${delivery.message.title}, ${delivery.channel}`}
                >
                  Send again
                </button>
              </form>
            </div>
          ))}
        </section>
      )}
      <a class="act" href={alertsPath(page.site.id)}>
        Back to the alerts
      </a>
    </Layout>
  );
};
