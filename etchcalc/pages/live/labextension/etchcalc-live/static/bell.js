// The bell: a tone and a word in the window's title when something at the bath is due.

const TONES = 3;       // short ones
const EVERY = 0.35;    // s from one to the next

/** Ring, where the browser allows it: a page that nobody has touched stays silent. */
function ring(audio) {
  if (audio?.state !== 'running') return;
  for (let i = 0; i < TONES; i += 1) {
    const tone = audio.createOscillator();
    const loud = audio.createGain();
    const from = audio.currentTime + i * EVERY;
    tone.frequency.value = 880;
    loud.gain.setValueAtTime(0.4, from);
    loud.gain.exponentialRampToValueAtTime(0.001, from + 0.3);
    tone.connect(loud).connect(audio.destination);
    tone.start(from);
    tone.stop(from + 0.3);
  }
}

/** Watch for an element of class etch-bell; each new mark in its data-bell rings once. */
export function keepBell(panel) {
  let audio;
  let rung;             // the marks seen last; none before the page is live
  const wake = () => {
    if (rung === undefined) return;                 // a workbook without a bell
    audio ??= new AudioContext();
    audio.resume().then(() => panel.addClass('etchcalc-sounds')).catch(() => {});
  };
  for (const type of ['pointerdown', 'keydown']) panel.node.addEventListener(type, wake, true);
  const look = () => {
    for (const node of panel.node.querySelectorAll('.etch-aloud:not([aria-live])')) {
      node.setAttribute('aria-live', 'polite');     // the node stays, what is in it is replaced
      node.setAttribute('aria-atomic', 'true');
    }
    const bell = panel.node.querySelector('.etch-bell');
    if (!bell) return;
    const due = bell.dataset.bell.split(' ').filter(Boolean);
    if (rung?.join() === due.join() && panel.node.dataset.due === bell.dataset.words) return;
    const fresh = rung && due.some(mark => !rung.includes(mark));
    rung = due;
    panel.node.dataset.due = bell.dataset.words;    // the window's title takes it up
    if (fresh) {
      panel.node.dataset.rang = String(Number(panel.node.dataset.rang ?? 0) + 1);
      ring(audio);
    }
  };
  new MutationObserver(look).observe(panel.node, { childList: true, subtree: true });
  look();
}
