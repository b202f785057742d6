// A notebook shown as a page: no furniture, no cell keys, a title, the code when asked for.

const FURNITURE = new Set([
  'jp-top-panel', 'jp-header-panel', 'jp-bottom-panel', 'jp-single-document-title',
  'jp-menu-panel', 'jp-title-panel',
]);

/** Take away menus, bars and side panels. */
export function clearFurniture(shell) {
  for (const widget of shell.layout?.widgets ?? []) {
    if (FURNITURE.has(widget.id)) widget.hide();
  }
  for (const side of ['left', 'right']) {
    if (shell.isSideTabBarVisible?.(side)) shell.toggleSideTabBarVisibility(side);
  }
  shell.collapseLeft?.();
  shell.collapseRight?.();
}

// The mark of an element whose keys are no shortcuts.
const SUPPRESS = 'data-lm-suppress-shortcuts';

/** Whether a key pressed there is meant for code that is shown on purpose. */
const inShownCode = (panel, target) =>
  panel.hasClass('etchcalc-code') && Boolean(target.closest('.jp-InputArea-editor'));

/** Keep the notebook's keys and clicks from its cells. */
export function keepKeysFromCells(panel) {
  // Else b, m, x and d d on a focused slider insert, convert, cut and delete cells.
  // JupyterLab looks for this mark from the target upwards, and only up to the first
  // element that a shortcut is meant for: so it must stand on the target itself.
  panel.node.addEventListener('focusin', event => {
    if (inShownCode(panel, event.target)) event.target.removeAttribute(SUPPRESS);
    else event.target.setAttribute(SUPPRESS, 'true');
  });
  panel.node.addEventListener('contextmenu', event => event.stopPropagation());
  // Captured, else a double click opens the text of the page for editing.
  panel.node.addEventListener('dblclick', event => {
    if (!inShownCode(panel, event.target)) event.stopPropagation();
  }, true);
}

/** Keep Tab from the cells, which show no focus and take no keys: it comes to their controls. */
export function keepTabFromCells(panel) {
  const skip = () => {
    for (const cell of panel.node.querySelectorAll('.jp-Cell[tabindex="0"]')) cell.tabIndex = -1;
  };
  // JupyterLab puts the active cell among the stops, and it is active once something in it has the focus.
  new MutationObserver(skip).observe(
    panel.node, { subtree: true, attributes: true, attributeFilter: ['tabindex'] });
  skip();
}

/** Name the window after the page's first heading. */
export function keepTitle(panel) {
  const heading = panel.content.widgets
    .filter(cell => cell.model.type === 'markdown')
    .map(cell => cell.model.sharedModel.getSource().match(/^#\s+(.+)$/m)?.[1])
    .find(Boolean);
  if (!heading) return;
  const title = `${heading.replace(/[*_`]/g, '').trim()} · etchcalc`;
  const put = () => {
    if (!panel.isVisible) return;                   // another page of this window has the title
    const due = panel.node.dataset.due;             // what the bell rang for
    const wanted = due ? `${due} · ${title}` : title;
    if (document.title !== wanted) document.title = wanted;
  };
  put();
  new MutationObserver(put).observe(panel.node, { attributes: true, attributeFilter: ['data-due'] });
  // JupyterLab puts the file's name there at each change of its layout.
  const element = document.querySelector('title');
  if (element) new MutationObserver(put).observe(element, { childList: true });
}

/** Name, for those who hear the page, sliders by their label and bare boxes by their meaning. */
export function nameControls(panel) {
  let rounds = 40;                                  // widgets come some time after their cell has run
  const timer = setInterval(() => {
    for (const handle of panel.node.querySelectorAll('.etch-slider .noUi-handle:not([aria-label])')) {
      const label = handle.closest('.etch-slider').querySelector('.widget-label')?.textContent?.trim();
      if (label) handle.setAttribute('aria-label', label);
    }
    for (const input of panel.node.querySelectorAll('.etch input[title]:not([aria-label])')) {
      const label = input.closest('.widget-text')?.querySelector('.widget-label')?.textContent?.trim();
      if (!label && input.title) input.setAttribute('aria-label', input.title);
    }
    rounds -= 1;
    if (rounds === 0) clearInterval(timer);
  }, 500);
}

/** Show or hide the code of every cell. */
function showCode(panel, shown) {
  panel.toggleClass('etchcalc-code', shown);
  for (const cell of panel.content.widgets) {
    if (cell.model.type === 'code') cell.inputHidden = !shown;
  }
}

/** Put the button for the code at the foot of the page. */
export function addFoot(panel) {
  const foot = document.createElement('footer');
  foot.className = 'etchcalc-foot';
  const button = Object.assign(document.createElement('button'), { type: 'button' });
  const say = shown => {
    button.textContent = shown ? 'Hide the code' : 'Show the code';
    button.setAttribute('aria-expanded', String(shown));
  };
  say(false);
  button.addEventListener('click', () => {
    const shown = !panel.hasClass('etchcalc-code');
    showCode(panel, shown);
    say(shown);
  });
  // The notebook takes the focus, and the Enter key, from what is in none of its cells.
  for (const type of ['focusin', 'keydown', 'keyup', 'mousedown']) {
    foot.addEventListener(type, event => event.stopPropagation());
  }
  button.setAttribute(SUPPRESS, 'true');
  foot.append(button);
  const node = panel.content.node;
  (node.querySelector('.jp-WindowedPanel-outer') ?? node).append(foot);
}
