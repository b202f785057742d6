// The two plugins: one makes a workbook's page live, one speaks when the server is gone.
import { banner, sayComing, slowness, watchKernel } from './banners.js';
import { keepBell } from './bell.js';
import { keepDrag } from './drag.js';
import { showFault } from './faults.js';
import { addFoot, clearFurniture, keepKeysFromCells, keepTabFromCells, keepTitle, nameControls } from './page.js';
import { keepHeard, makeLive } from './running.js';

/** The plugins, given what JupyterLab offers. */
export function makePlugins(name, { NotebookActions, IConnectionLost, style }) {
  const link = Object.assign(document.createElement('link'), { rel: 'stylesheet', href: style });
  document.head.append(link);
  return [
    {
      id: `${name}:plugin`,
      autoStart: true,
      activate: app => {
        app.docRegistry.addWidgetExtension('Notebook', {
          createNew: (panel, context) => {
            context.ready
              .then(() => isOurs(context) && open(app, panel, context, NotebookActions))
              .catch(error => console.error(error));
          },
        });
      },
    },
    {
      id: `${name}:connection-lost`,
      autoStart: true,
      provides: IConnectionLost,
      // JupyterLab's own opens a dialog about its server, and opens it again and again.
      activate: () => async () => {
        banner('etchcalc has been stopped. Start it again with: etchcalc open');
      },
    },
  ];
}

/** Whether the notebook asks, in its metadata, to be opened live. */
function isOurs(context) {
  return Boolean(context.model.getMetadata('etchcalc')?.live);
}

/** Show the notebook as a page, and make it live now and after each start of its kernel. */
async function open(app, panel, context, NotebookActions) {
  panel.addClass('etchcalc-live');
  panel.toolbar.hide();
  keepKeysFromCells(panel);
  keepTabFromCells(panel);
  keepTitle(panel);
  keepBell(panel);
  keepDrag(panel);
  keepHeard(panel);
  addFoot(panel);
  // Under /lab several documents share the window, and its furniture is wanted.
  if (/\/doc(\/|$)/.test(location.pathname)) app.restored.then(() => clearFurniture(app.shell));
  const live = async () => {
    await makeLive(panel, context, app.serviceManager.contents, NotebookActions);
    showFault(panel);
    nameControls(panel);
  };
  const come = sayComing(panel);
  await slowness((async () => {
    await panel.sessionContext.ready;
    watchKernel(panel, live);
    await live();
  })()).finally(come);
}
