"""routescreen from inside a desktop GIS: a thin adapter that starts the installed command.

Nothing here computes and nothing imports the package ``routescreen``, which lives in a Python of its own.
"""


def classFactory(iface):  # noqa: ARG001, N802, RUF100 - the name and the argument are the GIS's
    """Return the plugin; the GIS calls this when it is switched on."""
    from routescreen_gis.plugin import Plugin

    return Plugin()
