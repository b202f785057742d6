// A JupyterLab prebuilt extension written by hand, so that nothing need be built:
// a container is an object with init(share) and get(module). The rest is in plain
// ES modules beside this file.
(() => {
  const NAME = 'etchcalc-live';
  const here = document.currentScript.src;
  let share;

  /** A module that JupyterLab itself offers; the newest, should there be several. */
  const offered = async name => {
    const versions = Object.keys(share[name]);
    const newest = versions.sort((a, b) => a.localeCompare(b, undefined, { numeric: true })).pop();
    return (await share[name][newest].get())();
  };

  (globalThis._JUPYTERLAB ??= {})[NAME] = {
    init: modules => { share = modules; },
    get: async () => {
      const [{ makePlugins }, { NotebookActions }, { IConnectionLost }] = await Promise.all([
        import(new URL('plugins.js', here)),
        offered('@jupyterlab/notebook'),
        offered('@jupyterlab/application'),
      ]);
      const style = new URL('live.css', here).href;
      const plugins = makePlugins(NAME, { NotebookActions, IConnectionLost, style });
      return () => ({ __esModule: true, default: plugins });
    },
  };
})();
