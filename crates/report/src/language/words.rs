//! Every text of a report, as a type.

macro_rules! words {
    ($($key:ident),* $(,)?) => {
        /// Every text of a report in one language. `{name}` is a gap that [`fill`] fills.
        #[derive(Debug)]
        pub(crate) struct Words {
            $(pub $key: &'static str,)*
        }

        impl Words {
            /// Every text with its key, in a fixed order.
            #[cfg(test)]
            pub fn all(&self) -> Vec<(&'static str, &'static str)> {
                vec![$((stringify!($key), self.$key),)*]
            }
        }
    };
}

words! {
    title,
    overview,
    overview_count,
    report,
    made,
    book,
    page,
    page_of,
    batch_page,
    sample,
    result,
    melting_range,
    no_result,
    no_result_reason,
    from,
    to,
    first_liquid,
    last_crystal,
    first_liquid_means,
    last_crystal_means,
    as_logged,
    thermodynamic,
    at_rate,
    at_rate_of,
    not_stated,
    end,
    value_c,
    standard_u,
    expanded_u,
    coverage_factor,
    coverage,
    agree,
    disagree,
    one_run,
    agree_one_run,
    further_runs,
    left_out,
    origin,
    expected,
    hazards,
    hazards_none,
    preparation,
    dried,
    not_dried,
    ground,
    not_ground,
    column,
    solvent,
    not_noted,
    heating,
    programme,
    programme_varies,
    actual_rate,
    rate,
    rate_of,
    leg_approach,
    leg_soak,
    leg_attend,
    leg_scan,
    leg_cool,
    leg_at_rate,
    leg_to,
    leg_held,
    leg_for,
    thermometer,
    bench,
    calibration,
    calibrated_from,
    no_calibration,
    standards,
    last_check,
    next_check,
    state,
    state_never_checked,
    state_in_order,
    state_due,
    state_overdue,
    state_out_of_control,
    runs,
    no_runs,
    run,
    tube,
    melted,
    partly_melted,
    unmelted,
    decomposed,
    sublimed,
    empty,
    cannot_tell,
    logged_c,
    corrected_c,
    time,
    moment,
    began,
    read_by,
    not_used,
    recording,
    no_recording,
    picture_missing,
    picture_not_asked,
    picture_unreadable,
    picture_caption,
    pictures,
    whole_frame,
    no_curve,
    curve,
    curve_doubt,
    curve_label,
    curve_x,
    curve_y,
    remarks,
    deviations,
    no_deviations,
    specification,
    required,
    meets,
    does_not_meet,
    cannot_be_decided,
    rule_simple,
    rule_guarded,
    probability_lower,
    probability_upper,
    candidates,
    candidates_list,
    candidates_source,
    no_candidates,
    candidate,
    literature_c,
    probability,
    others,
    not_in_list,
    mixed_melting,
    mixed_with,
    mixed_share,
    mixed_same,
    mixed_different,
    mixed_cannot_tell,
    mixed_range,
    mixed_depression,
    purity,
    purity_value,
    purity_none,
    verdict,
    people,
    measured,
    read,
    determined,
    supervised,
    review,
    signed,
    draft,
    draft_banner,
    outdated,
    taken_back,
    changed_sample,
    changed_readings,
    changed_result,
    changed_verdict,
    meaning,
    meaning_reviewed,
    meaning_approved,
    chain,
    chain_verified,
    chain_head,
    chain_not_verified,
    chain_broken,
    record,
    digests,
    why_anew,
    program,
    logo_missing,
    bad_numbers,
    missing_glyphs,
    minutes,
    mp_journal,
    mp_notebook,
    corr,
    corr_thermodynamic,
    corr_not_stated,
    uncorr,
    dec,
    subl,
    one_run_short,
    runs_agree_short,
    runs_disagree_short,
    u_short,
    capillary,
    draft_short,
    signed_short,
    sentences,
    for_journal,
    for_notebook,
    for_certificate,
    skip,
    table_of,
}

/// A text with its gaps filled; what is filled in is never looked at for gaps itself.
pub(crate) fn fill(text: &str, gaps: &[(&str, &str)]) -> String {
    let mut filled = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        filled.push_str(before);
        let (name, after) = after.split_once('}').unwrap_or((after, ""));
        if let Some((_, value)) = gaps.iter().find(|(gap, _)| *gap == name) {
            filled.push_str(value);
        }
        rest = after;
    }
    filled.push_str(rest);
    filled
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_filled_in_stays_as_it_is() {
        let found = fill("{a} and {b}", &[("a", "{b}"), ("b", "2")]);
        assert_eq!(found, "{b} and 2");
    }
}
