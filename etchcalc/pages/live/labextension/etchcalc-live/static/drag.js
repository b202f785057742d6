// The groove's floor, pulled to a depth: what is pulled moves the panel's own depth slider.

const HANDLE = '.etch-drag';
// In steps of the slider; down is deeper, as in the picture.
const KEYS = {
  ArrowDown: 1, ArrowRight: 1, PageDown: 10, End: Infinity,
  ArrowUp: -1, ArrowLeft: -1, PageUp: -10, Home: -Infinity,
};

/** The depth slider of the panel in which a handle stands. */
const sliderOf = handle =>
  handle.closest('.etch')?.querySelector('.etch-band-depth .noUi-target')?.noUiSlider;

/** Where on the screen the picture with the handle begins. */
const topOf = node => node.querySelector(HANDLE)?.ownerSVGElement.getBoundingClientRect().top;

/** Let the floor be pulled by pointer, finger or keys. */
export function keepDrag(panel) {
  const { node } = panel;
  let pull;             // while a pointer has the floor: its id, the slider, from where, mm a pixel
  let wanted;           // slider and depth to be set with the next frame: one message a frame
  let focused = false;  // whether the handle has the focus, or had it when it was drawn again

  const ask = (slider, depth) => {
    const { min, max } = slider.options.range;
    if (!wanted) {
      requestAnimationFrame(() => {
        const { slider, depth } = wanted;
        wanted = undefined;
        slider.set(depth);                          // it snaps to its step, and its view sends it
      });
    }
    wanted = { slider, depth: Math.min(max, Math.max(min, depth)) };
  };

  node.addEventListener('pointerdown', event => {
    const handle = event.target.closest(HANDLE);
    focused = Boolean(handle);
    const slider = handle && sliderOf(handle);
    if (!slider || !event.isPrimary || event.button !== 0) return;
    event.preventDefault();
    handle.focus({ preventScroll: true });
    // The handle is drawn again at each move, at times to another scale: the panel's node has the
    // pointer, and the scale and place at which the pull began hold to its end.
    node.setPointerCapture(event.pointerId);
    const perPixel = Number(handle.dataset.mmPerUnit) / handle.ownerSVGElement.getScreenCTM().d;
    const depth = Number(handle.getAttribute('aria-valuenow'));
    pull = { id: event.pointerId, slider, y: event.clientY, perPixel, depth, top: topOf(node) };
  });
  // Else a finger scrolls the page, and that ends the pull: touch-action: none on the handle did
  // not keep Chromium from it.
  node.addEventListener('touchstart', event => {
    if (event.target.closest(HANDLE) && event.touches.length === 1) event.preventDefault();
  }, { passive: false });
  node.addEventListener('pointermove', event => {
    if (event.pointerId !== pull?.id) return;
    ask(pull.slider, pull.depth + (event.clientY - pull.y) * pull.perPixel);
  });
  for (const type of ['pointerup', 'pointercancel', 'lostpointercapture']) {
    node.addEventListener(type, event => {
      if (event.pointerId === pull?.id) pull = undefined;
    });
  }

  node.addEventListener('keydown', event => {
    const steps = event.target.closest(HANDLE) && KEYS[event.key];
    const slider = steps && sliderOf(event.target);
    if (!slider || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    ask(slider, (wanted?.depth ?? Number(slider.get())) + steps * slider.options.step);
  });

  document.addEventListener('focusin', event => {
    focused = node.contains(event.target) && Boolean(event.target.closest(HANDLE));
  });
  new MutationObserver(() => {
    if (focused && document.activeElement === document.body) {
      node.querySelector(HANDLE)?.focus({ preventScroll: true });
    }
    // The sentences above grow and shrink: the page is scrolled by as much, so that the floor
    // stays under the pointer.
    const moved = pull && topOf(node) - pull.top;
    if (moved) (node.querySelector('.jp-WindowedPanel-outer') ?? panel.content.node).scrollBy(0, moved);
  }).observe(node, { childList: true, subtree: true });
}
