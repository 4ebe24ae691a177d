//! The evidence page, the curves as text and reports, from invented readings and determinations.

mod contrast;
mod determination;
mod made_up;
mod page;
mod poppler;
mod report_bad_input;
mod report_curve;
mod report_html;
mod report_layout;
mod report_numbers;
mod report_pdf;
mod report_sentences;
mod report_standing;
