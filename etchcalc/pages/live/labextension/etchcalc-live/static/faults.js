// A cell that fails: one sentence in place of its traceback, which stays folded under it.

const COLOURS = /\x1b\[[0-9;]*m/g;

/** The first output that is an error, with the cell that it stands in. */
function firstError(panel) {
  for (const cell of panel.content.widgets) {
    const outputs = cell.model.outputs;
    for (let i = 0; i < (outputs?.length ?? 0); i++) {
      const output = outputs.get(i).toJSON();
      if (output.output_type === 'error') return { cell, output };
    }
  }
  return null;
}

/** The sentence: a fault that speaks to the maker is shown as it stands. */
function sentence({ ename, evalue }) {
  const text = (evalue || '').trim();
  if (ename === 'BadInput' && text) return text;
  const what = (text.split('\n')[0] || ename).replace(/[.\s]+$/, '');
  return `This page stopped here: ${what}.`;
}

/** Show the fault that the last run met, or take away the one shown before. */
export function showFault(panel) {
  panel.node.querySelectorAll('.etchcalc-fault').forEach(node => node.remove());
  const found = firstError(panel);
  if (!found) return;
  const box = document.createElement('div');
  box.className = 'etchcalc-fault';
  box.setAttribute('role', 'alert');
  const say = document.createElement('p');
  say.textContent = sentence(found.output);
  const fold = document.createElement('details');
  const summary = document.createElement('summary');
  summary.textContent = 'For whoever mends it';
  const traceback = document.createElement('pre');
  traceback.textContent = (found.output.traceback ?? []).join('\n').replace(COLOURS, '');
  fold.append(summary, traceback);
  box.append(say, fold);
  found.cell.node.append(box);
}
