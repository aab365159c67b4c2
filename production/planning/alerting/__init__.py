"""Alerts as rows with a life: seen, told once, told again only with news, silenced by a person, gone."""
