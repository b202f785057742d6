// Running a workbook's cells once for each start of its kernel, however many tabs show it.

const POLL = 400;            // ms between looks at whether the other tab is done
const GIVEN_UP_AFTER = 30000; // ms, after which a tab that began and went away is replaced

const NUDGE = 3000;          // ms between words to the kernel

const pause = ms => new Promise(resolve => setTimeout(resolve, ms));

/** A name for this tab that outlives a reload: so a run that a reload cut short is begun again. */
function tabName() {
  const key = 'etchcalc-live-tab';
  const name = sessionStorage.getItem(key) ?? crypto.getRandomValues(new Uint32Array(3)).join('-');
  sessionStorage.setItem(key, name);
  return name;
}

/** Speak to the page's kernel now and then, as long as somebody sees the page. */
export function keepHeard(panel) {
  // Some kernels overlook a message that comes while they answer another, until the next one comes:
  // the first question of a page, or a button pressed just after a slider was moved.
  const timer = setInterval(() => {
    const kernel = panel.sessionContext.session?.kernel;
    if (kernel && !document.hidden) {
      kernel.requestCommInfo({ target_name: 'etchcalc-nudge' }).catch(() => {});
    }
  }, NUDGE);
  panel.disposed.connect(() => clearInterval(timer));
}

/** Evaluate a Python expression that gives JSON, leaving no trace; with the execution count. */
async function ask(kernel, expression) {
  const reply = await kernel.requestExecute({
    code: '',
    silent: true,
    store_history: false,
    user_expressions: { answer: `__import__('json').dumps(${expression})` },
  }).done;
  const text = reply.content.user_expressions?.answer?.data?.['text/plain'];
  return {
    count: reply.content.execution_count ?? 0,
    answer: text ? JSON.parse(text.slice(1, -1)) : null,   // a Python string in its quotes
  };
}

// The claim lies in the kernel, which answers one question at a time: of two tabs
// that ask at once one is the first. A new kernel has no claim.
const CLAIM = "get_ipython().__dict__.setdefault('_etchcalc_live', {})";
const claimed = (tab, attempt) =>
  `get_ipython().__dict__.setdefault('_etchcalc_live', ` +
  `{'tab': '${tab}', 'attempt': '${attempt}', 'done': False})`;

/** Whether this tab is to run the cells: 'run', or 'found' live, or 'others' are at it. */
async function whoRuns(kernel, tab, shown) {
  const attempt = `${tab}-${Date.now()}`;
  const { count, answer: claim } = await ask(kernel, claimed(tab, attempt));
  if (!claim) return count > 0 ? 'found' : 'run';            // not a kernel of ours
  // Between our reading of the file and our question another tab may have saved it.
  if (claim.done) return claim.saved === shown ? 'found' : 'others';
  if (claim.attempt === attempt && count > 0) return 'found'; // run, but not by a page of ours
  return claim.tab === tab ? 'run' : 'others';
}

/** Wait for the other tab; whether it has come to an end. */
async function othersDone(kernel) {
  for (const began = Date.now(); Date.now() - began < GIVEN_UP_AFTER; await pause(POLL)) {
    if ((await ask(kernel, CLAIM)).answer?.done) return true;
  }
  return false;
}

/** Run the cells if nobody has, and save the working copy so that a reload finds the models. */
export async function makeLive(panel, context, contents, NotebookActions) {
  const kernel = panel.sessionContext.session?.kernel;
  if (!kernel || panel.isDisposed) return;
  const turn = await whoRuns(kernel, tabName(), context.contentsModel?.last_modified);
  if (turn === 'found') return;
  if (turn === 'others' && (await othersDone(kernel))) {
    await context.revert();                                   // to what that tab has saved
    return;
  }
  const saved = await runAndSave(panel, context, contents, NotebookActions);
  await ask(kernel, `${CLAIM}.update(done=True, saved='${saved}')`);
}

/** Run the code cells and save them with their outputs; when it was saved. */
async function runAndSave(panel, context, contents, NotebookActions) {
  const notebook = panel.content;
  const cells = notebook.widgets.filter(cell => cell.model.type === 'code');
  // runCells, unlike runAll, neither moves the selection nor scrolls.
  await NotebookActions.runCells(notebook, cells, panel.sessionContext);
  // Past the document's context, which asks in a dialog where another tab saved before.
  const { last_modified: saved } = await contents.save(context.path, {
    type: 'notebook', format: 'json', content: context.model.toJSON(),
  });
  return saved;
}
