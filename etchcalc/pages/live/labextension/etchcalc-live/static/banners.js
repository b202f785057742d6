// What is said across the top of the page: a kernel that died, a server that is gone.

/** Take away what is said across the top. */
const clearBanners = () => document.querySelectorAll('.etchcalc-banner').forEach(node => node.remove());

/** Show one sentence across the top, with a button if there is something to press. */
export function banner(text, label, press) {
  clearBanners();
  const box = document.createElement('div');
  box.className = 'etchcalc-banner';
  box.setAttribute('role', 'alert');
  box.append(Object.assign(document.createElement('p'), { textContent: text }));
  if (label) {
    const button = Object.assign(document.createElement('button'), { textContent: label, type: 'button' });
    button.addEventListener('click', press);
    box.append(button);
  }
  document.body.append(box);
}

const COMING = 'Working it out. The first time on a computer this takes a quarter of a minute, later a few seconds.';

/** Say, where the panel will stand, that it is coming; what takes the words away again. */
export function sayComing(panel) {
  const note = Object.assign(document.createElement('p'), { className: 'etchcalc-coming', textContent: COMING });
  note.setAttribute('role', 'status');
  panel.content.widgets.find(cell => cell.model.type === 'code')?.node.append(note);
  return () => note.remove();
}

const SLOW = 30000;          // ms; a first opening compiles and is slower than all later ones

/** Say it when a page takes long to come live, or does not; what is on disk is safe. */
export async function slowness(coming) {
  const load = () => location.reload();
  const timer = setTimeout(
    () => banner('This page is slow to come live. If nothing happens:', 'Load it again', load), SLOW);
  try {
    await coming;
    clearBanners();
  } catch (error) {
    banner('This page did not come live.', 'Load it again', load);
    throw error;
  } finally {
    clearTimeout(timer);
  }
}

/** Make the page live again after a restart of the kernel, and say so when it is dead. */
export function watchKernel(panel, live) {
  const session = panel.sessionContext;
  // Its only act is the dialog "appears to have died". Private: without it, the
  // dialog shows again, and nothing else is lost.
  if (typeof panel._onSessionStatusChanged === 'function') {
    session.statusChanged.disconnect(panel._onSessionStatusChanged, panel);
  }
  let restarted = false;
  session.statusChanged.connect((_, status) => {
    const restarting = status === 'restarting' || status === 'autorestarting';
    if (restarting) restarted = true;
    panel.toggleClass('etchcalc-waiting', restarted && status !== 'dead');
    if (status === 'dead') {
      banner('The calculation stopped. What you entered is in the commission’s file.',
        'Start again', () => startAgain(session));
    } else if (status === 'idle' && restarted) {
      restarted = false;
      panel.removeClass('etchcalc-waiting');
      setTimeout(() => live().catch(error => console.error(error)), 0);
    }
  });
}

/** End the dead kernel's session and load the page anew: restarting a dead kernel fails. */
async function startAgain(session) {
  await session.shutdown().catch(() => {});
  location.reload();
}
