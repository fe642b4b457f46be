"""How Django knows this package, and which tables lie in which database."""

from typing import Any

from django.apps import AppConfig


class WebConfig(AppConfig):
    """The pages, as one of a project's applications."""

    name = "lungeline.web"
    label = "lungeline_web"
    verbose_name = "Pages"


class AccountsOnly:
    """Keeps the record's table out of the pages' database: the record has its own."""

    def allow_migrate(self, db: str, app_label: str, **_hints: Any) -> bool | None:  # noqa: ANN401  as Django calls it
        """Say whether a database holds the tables of an application."""
        if db == "default":
            return app_label != "lungeline_record"
        return app_label == "lungeline_record"
