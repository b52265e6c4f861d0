"""Pictures, run sheet, report: what a person looks at.

The heavy libraries (plots, page setter, templates, codes) are loaded when a page first needs them.
"""

from filmwright.outputs.bundle_page import BundleEntry, BundleFile, BundleLot, BundlePage, bundle_html
from filmwright.outputs.calendar import Event, calendar_text
from filmwright.outputs.callouts import callouts_of
from filmwright.outputs.curve_page import CurveFile, curves_html, figures_html
from filmwright.outputs.drift_chart import ChartPhase, ChartPoint, DriftContent, drift_chart_svg, drift_plot
from filmwright.outputs.edge_page import edges_html
from filmwright.outputs.end_picture import end_trace_svg
from filmwright.outputs.figures import Curve, Place, Share, share_svg
from filmwright.outputs.film_frames import FRAME, frame_png, frame_svg, gif_of
from filmwright.outputs.frame import Window
from filmwright.outputs.index import IndexFlow, IndexLink, findings_html, findings_text, index_html
from filmwright.outputs.labels import LABEL_KINDS, Label, labels_pdf
from filmwright.outputs.legend import Legend
from filmwright.outputs.methods import MethodsStep, methods_paragraph
from filmwright.outputs.micrograph import micrograph
from filmwright.outputs.moments import moment_section_svg, same_section, small_sections_svg
from filmwright.outputs.palette import Ink, ink
from filmwright.outputs.plain_table import PlainTable
from filmwright.outputs.plan_view import Mark, Patch, PlanPicture, plan_svg
from filmwright.outputs.plot import Axis, Panel, Plot, Series
from filmwright.outputs.plot_live import live_figure, notebook_figures, plot_html, with_scripts
from filmwright.outputs.plot_paper import KINDS, panel_svg, printed_plots
from filmwright.outputs.plots_of_curves import (
    Definition,
    definitions_plot,
    mobility_plot,
    output_plot,
    straight_line_plot,
    transconductance_plot,
    transfer_plot,
)
from filmwright.outputs.plots_of_lots import (
    LengthLine,
    Predicted,
    Replicate,
    capacitance_plot,
    correlation_plot,
    length_plot,
    map_plot,
    predicted_plot,
    residual_plot,
    split_plot,
    trace_plot,
)
from filmwright.outputs.plots_of_results import (
    correlations_plot,
    fit_plots,
    integral_plot,
    mobility_curve_plot,
    ratio_plot,
    splits_plot,
    wafer_map_plot,
)
from filmwright.outputs.plots_of_sets import (
    capacitance_result_plot,
    gated_lengths_plot,
    predicted_family_plots,
    step_plot,
)
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
from filmwright.outputs.ro_crate import Crate, CrateFile, crate_json
from filmwright.outputs.section import SectionPicture, section_svg, window_of
from filmwright.outputs.section_notes import Callout
from filmwright.outputs.sheet import OpenFinding, RunSheet, SheetSetting, SheetStep, run_sheet_pdf
from filmwright.outputs.sheet_content import Lot, run_sheet_of
from filmwright.outputs.small_section import small_section_svg
from filmwright.outputs.spectrum import spectrum_csv, spectrum_svg
from filmwright.outputs.spreadsheet import csv_text, harmless
from filmwright.outputs.story import Story, StoryColumn, StorySetting, StoryStep, story_html
from filmwright.outputs.tables import (
    TABLE_KINDS,
    frame,
    parameter_rows,
    plain_rows,
    table_bytes,
    table_html,
)
from filmwright.outputs.views import (
    StepPictures,
    final_plan_svg,
    final_section_svg,
    legend_of,
    plan_window_svg,
    step_pictures,
    story_of,
    told_steps,
    view_window_svg,
)
from filmwright.outputs.words import duration_text

__all__ = [
    "BundleEntry",
    "BundleFile",
    "BundleLot",
    "BundlePage",
    "Crate",
    "CrateFile",
    "bundle_html",
    "crate_json",
    "ChartPhase",
    "ChartPoint",
    "DriftContent",
    "drift_chart_svg",
    "drift_plot",
    "LABEL_KINDS",
    "Label",
    "labels_pdf",
    "FRAME",
    "KINDS",
    "TABLE_KINDS",
    "AsRunRow",
    "Axis",
    "Callout",
    "CompareContent",
    "ComparisonRow",
    "Curve",
    "CurveFile",
    "Definition",
    "Estimate",
    "Event",
    "HeatRow",
    "IndexFlow",
    "IndexLink",
    "Ink",
    "Legend",
    "LengthLine",
    "Lot",
    "Mark",
    "MethodsStep",
    "OpenFinding",
    "Panel",
    "Patch",
    "Picture",
    "Place",
    "PlainTable",
    "PlanPicture",
    "Plot",
    "Predicted",
    "ProposalRow",
    "Replicate",
    "ReportContent",
    "ReportStep",
    "RunSheet",
    "SafetyRow",
    "SectionPicture",
    "Series",
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
    "capacitance_plot",
    "capacitance_result_plot",
    "compare_html",
    "correlation_plot",
    "correlations_plot",
    "csv_text",
    "curves_html",
    "definitions_plot",
    "duration_text",
    "edges_html",
    "end_trace_svg",
    "figures_html",
    "final_plan_svg",
    "final_section_svg",
    "findings_html",
    "findings_text",
    "fit_plots",
    "frame",
    "frame_png",
    "frame_svg",
    "gated_lengths_plot",
    "gif_of",
    "harmless",
    "index_html",
    "ink",
    "integral_plot",
    "legend_of",
    "length_plot",
    "live_figure",
    "map_plot",
    "methods_paragraph",
    "micrograph",
    "mobility_curve_plot",
    "mobility_plot",
    "notebook_figures",
    "output_plot",
    "panel_svg",
    "moment_section_svg",
    "parameter_rows",
    "plain_rows",
    "plan_svg",
    "plan_window_svg",
    "plot_html",
    "png_of",
    "predicted_family_plots",
    "predicted_plot",
    "printed_plots",
    "ratio_plot",
    "report_html",
    "residual_plot",
    "run_sheet_of",
    "run_sheet_pdf",
    "same_section",
    "section_svg",
    "share_svg",
    "small_section_svg",
    "small_sections_svg",
    "spectrum_csv",
    "spectrum_svg",
    "split_plot",
    "splits_plot",
    "step_pictures",
    "step_plot",
    "story_html",
    "story_of",
    "straight_line_plot",
    "table_bytes",
    "table_html",
    "told_steps",
    "trace_plot",
    "transconductance_plot",
    "transfer_plot",
    "view_window_svg",
    "wafer_map_plot",
    "window_of",
    "with_scripts",
]
