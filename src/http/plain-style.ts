/** Style of the plain pages, served as a file of its own because the pages allow no inline style. */
export const PLAIN_STYLE_ADDRESS = '/plain.css';

export const PLAIN_STYLE = `
:root { color: #111; background: #fff; font: 18px/1.5 system-ui, sans-serif; }
body { margin: 0; }
main { max-width: 60rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.2; }
h2 { font-size: 1.3rem; margin-top: 2.5rem; border-bottom: 3px solid #111; }
h3 { font-size: 1.1rem; margin: 2rem 0 0.25rem; }
a { color: #004b85; }
a:focus-visible, button:focus-visible, input:focus-visible, summary:focus-visible { outline: 4px solid #111; outline-offset: 2px; }
label { display: block; font-weight: 700; }
input { box-sizing: border-box; width: 100%; min-height: 56px; padding: 0 0.75rem; font: inherit; border: 2px solid #111; border-radius: 4px; }
button { min-height: 56px; margin-top: 1rem; padding: 0 2rem; font: inherit; font-weight: 700; color: #fff; background: #111; border: 2px solid #111; border-radius: 4px; }
code, pre { font: 0.9em/1.45 ui-monospace, monospace; }
pre { padding: 0.75rem; border: 1px solid #111; overflow-x: auto; }
table { width: 100%; border-collapse: collapse; margin: 0.5rem 0; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 0.75rem 0.35rem 0; border-bottom: 1px solid #767676; }
.problem { padding: 0.75rem; border: 3px solid #111; border-left-width: 16px; font-weight: 700; }
.small { font-size: 0.9rem; }
.method { font-weight: 700; }
summary { min-height: 44px; line-height: 44px; cursor: pointer; }
@media (max-width: 40rem) {
  table, tbody, tr, th, td { display: block; border: 0; padding: 0; }
  thead { position: absolute; left: -9999px; }
  tr { padding: 0.5rem 0; border-bottom: 1px solid #767676; }
}
`;
