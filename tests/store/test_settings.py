"""Where the data is kept."""

import pytest

from tacticapi.store import database_url


def test_without_any_setting_it_is_a_file_in_this_folder() -> None:
    assert database_url({}) == "sqlite:///tacticapi.db"


def test_a_path_names_the_file() -> None:
    assert database_url({"TACTICAPI_DB": "/var/lib/tacticapi/club.db"}) == "sqlite:////var/lib/tacticapi/club.db"


@pytest.mark.parametrize("scheme", ["postgres", "postgresql", "postgresql+psycopg"])
def test_an_address_stands_above_the_path_and_gets_our_driver(scheme: str) -> None:
    settings = {"DATABASE_URL": f"{scheme}://u:p@db/club", "TACTICAPI_DB": "other.db"}
    assert database_url(settings) == "postgresql+psycopg://u:p@db/club"


def test_another_engine_is_refused_without_telling_the_password() -> None:
    with pytest.raises(ValueError, match="use postgresql") as refused:
        database_url({"DATABASE_URL": "mysql://u:hidden@db/club"})
    assert "hidden" not in str(refused.value)
