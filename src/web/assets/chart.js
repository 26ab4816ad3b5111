// Draws the table of a house as a chart. Everything it shows stands in the table beside it.
const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const numberOf = (row, name) => (row.dataset[name] === undefined ? null : Number(row.dataset[name]));

export async function drawChart(figure) {
  const { default: uPlot } = await import(figure.dataset.chartLib);
  const rows = [...document.querySelectorAll('table.days tbody tr')];
  const at = rows.map((row) => Date.parse(`${row.dataset.day}T12:00:00Z`) / 1000);
  const column = (name) => rows.map((row) => numberOf(row, name));
  const warm = colour('--chart-warm');
  const cold = colour('--chart-cold');
  const ink = colour('--chart-ink');
  const hidden = { show: true, width: 0, points: { show: false } };
  const here = figure.querySelector('.chart-here');
  figure.hidden = false;
  const options = {
    width: here.clientWidth,
    height: 240,
    tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), 'UTC'),
    cursor: { show: false },
    legend: { show: false },
    scales: { x: { time: true } },
    axes: [
      { stroke: ink, values: (_, ticks) => ticks.map((tick) => new Date(tick * 1000).getUTCDate()) },
      { stroke: ink, label: '°C', labelSize: 18, size: 36 },
    ],
    series: [
      {},
      { ...hidden, label: 'highest, likely no more than' },
      { ...hidden, label: 'highest, likely no less than' },
      { label: 'highest', stroke: warm, width: 2, points: { show: true, fill: warm } },
      { ...hidden, label: 'lowest, likely no more than' },
      { ...hidden, label: 'lowest, likely no less than' },
      { label: 'lowest', stroke: cold, width: 2, dash: [6, 4], points: { show: true, fill: cold } },
    ],
    bands: [
      { series: [1, 2], fill: `${warm}33` },
      { series: [4, 5], fill: `${cold}33` },
    ],
  };
  const data = [at, ...['maxHigh', 'maxLow', 'max', 'minHigh', 'minLow', 'min'].map(column)];
  const chart = new uPlot(options, data, here);
  addEventListener('resize', () => chart.setSize({ width: here.clientWidth, height: 240 }));
}
