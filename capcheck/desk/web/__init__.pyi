from .app import app_of as app_of
