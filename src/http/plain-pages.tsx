import type { ComponentChildren } from 'preact';
import { renderToString } from 'preact-render-to-string';
import { PLAIN_STYLE_ADDRESS } from './plain-style.js';

/** The frame of pages that are not part of the grower's day: signing in, errors, the description of the API. */
export function plainPage(title: string, content: ComponentChildren): string {
  const page = (
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta name="viewport" content="width=device-width, initial-scale=1" />
        <title>{`${title} - Leafturn`}</title>
        <link rel="stylesheet" href={PLAIN_STYLE_ADDRESS} />
      </head>
      <body>
        <main>{content}</main>
      </body>
    </html>
  );
  return `<!doctype html>${renderToString(page)}`;
}

/** @param problem what was wrong with the token given before */
export const signInPage = (then: string, problem?: string): string =>
  plainPage(
    problem ? 'Error: sign in' : 'Sign in',
    <>
      <h1>Sign in</h1>
      {problem && (
        <p class="problem" role="alert" id="problem">
          {problem}
        </p>
      )}
      <form method="post" action="/sign-in">
        <label for="token">Your token</label>
        <p id="help">The owner of the service makes one for you. It is asked for once on this device.</p>
        <input
          id="token"
          name="token"
          type="password"
          autocomplete="current-password"
          required
          aria-describedby={problem ? 'problem help' : 'help'}
        />
        <input type="hidden" name="then" value={then} />
        <button type="submit">Sign in</button>
      </form>
    </>,
  );

export const errorPage = (title: string, detail: string, requestId: string): string =>
  plainPage(
    title,
    <>
      <h1>{title}</h1>
      <p>{detail}</p>
      <p>
        <a href="/">Back to the list</a>
      </p>
      <p class="small">Request {requestId}</p>
    </>,
  );
