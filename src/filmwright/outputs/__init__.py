"""Pictures, run sheet, report: what a person looks at.

The heavy libraries (plots, page setter, templates, codes) are loaded when a page first needs them.
"""

from filmwright.outputs.calendar import Event, calendar_text
from filmwright.outputs.callouts import callouts_of
from filmwright.outputs.edge_page import edges_html
from filmwright.outputs.end_picture import end_trace_svg
from filmwright.outputs.figures import Curve, Place, Share, output_svg, share_svg, transfer_svg, wafer_map_svg
from filmwright.outputs.film_frames import FRAME, frame_png, frame_svg, gif_of
from filmwright.outputs.frame import Window
from filmwright.outputs.index import IndexFlow, IndexLink, findings_html, findings_text, index_html
from filmwright.outputs.legend import Legend
from filmwright.outputs.methods import MethodsStep, methods_paragraph
from filmwright.outputs.micrograph import micrograph
from filmwright.outputs.palette import Ink, ink
from filmwright.outputs.plan_view import Mark, Patch, PlanPicture, plan_svg
from filmwright.outputs.png import png_of
from filmwright.outputs.report import (
    AsRunRow,
    CompareContent,
    ComparisonRow,
    Estimate,
    HeatRow,
    Picture,
    ProposalRow,
    ReportContent,
    ReportStep,
    SafetyRow,
    SourceRow,
    Unknown,
    Verdict,
    YieldRow,
    compare_html,
    report_html,
)
from filmwright.outputs.section import SectionPicture, section_svg, window_of
from filmwright.outputs.section_notes import Callout
from filmwright.outputs.sheet import OpenFinding, RunSheet, SheetSetting, SheetStep, run_sheet_pdf
from filmwright.outputs.sheet_content import Lot, run_sheet_of
from filmwright.outputs.small_section import small_section_svg
from filmwright.outputs.spectrum import spectrum_csv, spectrum_svg
from filmwright.outputs.story import Story, StoryColumn, StorySetting, StoryStep, story_html
from filmwright.outputs.views import (
    StepPictures,
    final_plan_svg,
    final_section_svg,
    legend_of,
    plan_window_svg,
    step_pictures,
    story_of,
    view_window_svg,
)
from filmwright.outputs.words import duration_text

__all__ = [
    "FRAME",
    "AsRunRow",
    "Callout",
    "CompareContent",
    "ComparisonRow",
    "Curve",
    "Estimate",
    "Event",
    "IndexFlow",
    "IndexLink",
    "Ink",
    "Legend",
    "Lot",
    "Mark",
    "MethodsStep",
    "OpenFinding",
    "Patch",
    "Picture",
    "Place",
    "PlanPicture",
    "ProposalRow",
    "HeatRow",
    "ReportContent",
    "ReportStep",
    "SafetyRow",
    "RunSheet",
    "SectionPicture",
    "Share",
    "SheetSetting",
    "SheetStep",
    "SourceRow",
    "StepPictures",
    "Story",
    "StoryColumn",
    "StorySetting",
    "StoryStep",
    "Unknown",
    "Verdict",
    "Window",
    "YieldRow",
    "calendar_text",
    "callouts_of",
    "compare_html",
    "duration_text",
    "edges_html",
    "end_trace_svg",
    "final_plan_svg",
    "final_section_svg",
    "findings_html",
    "findings_text",
    "frame_png",
    "frame_svg",
    "gif_of",
    "index_html",
    "ink",
    "legend_of",
    "methods_paragraph",
    "micrograph",
    "output_svg",
    "plan_svg",
    "plan_window_svg",
    "png_of",
    "report_html",
    "run_sheet_of",
    "run_sheet_pdf",
    "section_svg",
    "share_svg",
    "small_section_svg",
    "spectrum_csv",
    "spectrum_svg",
    "step_pictures",
    "story_html",
    "story_of",
    "transfer_svg",
    "view_window_svg",
    "wafer_map_svg",
    "window_of",
]
