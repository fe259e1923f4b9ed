from .page import html_report as html_report
