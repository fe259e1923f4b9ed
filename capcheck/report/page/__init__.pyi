from .page import html_report as html_report
from .templating import environment_of as environment_of, require_html as require_html, template_text as template_text
