"""What opens JupyterLab on live pages.

``workbooks`` makes the disposable working copies, ``surroundings`` the folders
and variables that keep a maker's own Jupyter set-up out, ``opener`` starts the
server and the page. ``lab/`` holds the server's fixed settings and
``labextension/`` the script that makes a page live in the browser.
"""
