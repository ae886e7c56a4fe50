from dash import html


def layout(workbench):
    return html.Div("soon")


def register(app, workbench):
    pass
