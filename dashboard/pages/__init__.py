"""One module a page: `layout(workbench)` builds it, `register(app, workbench)` gives it its callbacks."""
