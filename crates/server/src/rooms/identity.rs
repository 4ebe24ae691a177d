//! What a solid is and how pure: worked out, not recorded.

use crate::extract::{Acting, Asked, Body, no_student};
use crate::own_library::MadeLibrary;
use crate::problem::{Problem, Problems};
use crate::state::AppState;
use crate::wire::{
    Candidates, ExpectedOfSubstance, IdentifyRequest, MixedMeltingRequest, Mixture, MixtureRequest,
    OwnList, OwnListRequest, PurityRequest, PurityTold, SolidRequest, Substances,
};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use meltrange_identity::{
    Enthalpy, MainSubstance, MeltingRange, MeltingSolid, MixedMelting, PURE_WIDTH_C, Pair,
    PairPoint, SeenAt, Substance, ThreeTubes, ToldCandidates, ToldMixture, ToldSubstance,
    VISIBLE_FRACTION, estimated_enthalpy, from_clear_point, from_width, identify,
};
use serde::Deserialize;
use std::sync::Arc;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// So many substances, candidates and explanations are told if nothing else is asked for.
const TOLD: usize = 50;
const MOST_TOLD: usize = 1000;
/// Points of a drawn diagram.
const POINTS: usize = 161;
/// Own points of a diagram.
const MOST_POINTS: usize = 1000;

pub(super) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(substances))
        .routes(routes!(expected))
        .routes(routes!(own_list, change_own_list))
        .routes(routes!(candidates))
        .routes(routes!(mixture))
        .routes(routes!(mixed_melting))
        .routes(routes!(purity))
}

/// What is looked for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct SubstancesQuery {
    /// Name or a part of it, CAS number, or formula
    find: Option<String>,
    /// Melting temperature [°C]
    near_c: Option<f64>,
    /// As far on either side [°C]; 2 if not given
    within_c: Option<f64>,
    /// So many at most; 50 if not given
    most: Option<usize>,
}

fn refused(error: &dyn std::error::Error) -> Problem {
    Problem::new(
        StatusCode::UNPROCESSABLE_ENTITY,
        "identity",
        "This cannot be worked out",
        crate::problem::in_full(error),
    )
}

async fn worked<T: Send + 'static>(
    state: AppState,
    work: impl FnOnce(Arc<MadeLibrary>) -> Result<T, Problem> + Send + 'static,
) -> Result<Json<T>, Problem> {
    tokio::task::spawn_blocking(move || work(state.library().now()?))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map(Json)
}

/// Look up substances
///
/// By text or by melting temperature; an own list goes before the library.
#[utoipa::path(get, path = "/api/library", tag = "identity", params(SubstancesQuery), responses((status = 200, body = Substances), Problems))]
async fn substances(
    State(state): State<AppState>,
    Asked(asked): Asked<SubstancesQuery>,
) -> Result<Json<Substances>, Problem> {
    let most = asked.most.unwrap_or(TOLD).min(MOST_TOLD);
    worked(state, move |made| {
        let library = &made.library;
        let found: Vec<&Substance> = match (&asked.find, asked.near_c) {
            (Some(text), _) => library.find(text, usize::MAX),
            (None, Some(near_c)) => {
                let within_c = asked.within_c.unwrap_or(2.0);
                if !(0.0..=50.0).contains(&within_c) {
                    return Err(Problem::field(
                        "within_c",
                        within_c.to_string(),
                        "0 to 50 °C",
                    ));
                }
                library.near(near_c, within_c)
            }
            (None, None) => return Err(Problem::field("find", "nothing", "find or near_c")),
        };
        Ok(Substances {
            found: found.len(),
            library_size: library.substances().len(),
            substances: found
                .into_iter()
                .take(most)
                .map(ToldSubstance::from)
                .collect(),
        })
    })
    .await
}

/// A substance by name.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
struct NamedQuery {
    /// Name or CAS number
    name: String,
}

/// Where a substance is expected to melt
///
/// To plan a run with; the label of the lot, or a scouting run, counts more.
#[utoipa::path(get, path = "/api/library/expected", tag = "identity", params(NamedQuery), responses((status = 200, body = ExpectedOfSubstance), Problems))]
async fn expected(
    State(state): State<AppState>,
    Asked(asked): Asked<NamedQuery>,
) -> Result<Json<ExpectedOfSubstance>, Problem> {
    worked(state, move |made| {
        let found = made
            .library
            .named(&asked.name)
            .map_err(|error| refused(&error))?;
        let why = found.refusal();
        let mut minds = found.hazards();
        minds.extend(found.remarks.iter().map(|remark| remark.text.clone()));
        Ok(ExpectedOfSubstance {
            name: found.name.clone(),
            cas: found.cas.clone(),
            range_c: found.expected_c().filter(|_| why.is_none()),
            refused: why,
            minds,
        })
    })
    .await
}

/// The own list
#[utoipa::path(get, path = "/api/library/own", tag = "identity", responses((status = 200, body = OwnList), Problems))]
async fn own_list(State(state): State<AppState>) -> Result<Json<OwnList>, Problem> {
    tokio::task::spawn_blocking(move || state.library().list())
        .await
        .map_err(|error| Problem::internal(&error))?
        .map(Json)
}

/// Put another own list in its place
///
/// For analysts and supervisors. What it says of a substance goes before what the library says.
#[utoipa::path(put, path = "/api/library/own", tag = "identity", security(("person" = [])), request_body = OwnListRequest, responses((status = 200, body = OwnList), Problems))]
async fn change_own_list(
    State(state): State<AppState>,
    Acting(who): Acting,
    Body(given): Body<OwnListRequest>,
) -> Result<Json<OwnList>, Problem> {
    no_student(who, "the own list is changed")?;
    tokio::task::spawn_blocking(move || state.library().put(given.csv, &given.revision))
        .await
        .map_err(|error| Problem::internal(&error))?
        .map(|made| Json(made.told()))
}

/// Rank what a solid could be
#[utoipa::path(post, path = "/api/candidates", tag = "identity", request_body = IdentifyRequest, responses((status = 200, body = Candidates), Problems))]
async fn candidates(
    State(state): State<AppState>,
    Body(asked): Body<IdentifyRequest>,
) -> Result<Json<Candidates>, Problem> {
    worked(state, move |made| {
        let range = MeltingRange {
            first_liquid_c: asked.first_liquid_c,
            last_crystal_c: asked.last_crystal_c,
            standard_uncertainty_c: asked.standard_uncertainty_c,
            convention: asked.convention,
        };
        let top = asked.top.unwrap_or(TOLD).clamp(1, MOST_TOLD);
        let possible = made.library.substances().iter();
        let possible = possible.filter(|one| one.own || !asked.only_own);
        let mut found = identify(&made.library, possible, &range, asked.unlisted_probability)
            .map_err(|error| refused(&error))?;
        found.explain(&range, top.min(TOLD));
        Ok(ToldCandidates::new(&found, Some(top)))
    })
    .await
}

/// One side of a mixture.
fn solid(made: &MadeLibrary, asked: &SolidRequest) -> Result<MeltingSolid, Problem> {
    let named = made.library.named(&asked.name);
    let mut solid = match (&named, asked.melting_c) {
        (Ok(substance), melting_c) => {
            let melting_c = melting_c.or_else(|| substance.likely_c()).ok_or_else(|| {
                Problem::field(
                    "melting_c",
                    "nothing",
                    "the melting temperature, which is not known here",
                )
            })?;
            MeltingSolid::of(substance, melting_c)
        }
        (Err(_), Some(melting_c)) => MeltingSolid {
            name: asked.name.clone(),
            cas: String::new(),
            melting_c,
            hfus_j_per_mol: estimated_enthalpy(melting_c),
            molar_mass_g_per_mol: None,
        },
        (Err(unknown), None) => return Err(refused(unknown)),
    };
    if let Some(value) = asked.hfus_j_per_mol {
        solid.hfus_j_per_mol = Enthalpy::given(value, "given");
    }
    solid.molar_mass_g_per_mol = asked.molar_mass_g_per_mol.or(solid.molar_mass_g_per_mol);
    Ok(solid)
}

/// Show how two solids melt together
#[utoipa::path(post, path = "/api/mixtures", tag = "identity", request_body = MixtureRequest, responses((status = 200, body = Mixture), Problems))]
async fn mixture(
    State(state): State<AppState>,
    Body(asked): Body<MixtureRequest>,
) -> Result<Json<Mixture>, Problem> {
    if asked.points.len() > MOST_POINTS {
        let found = asked.points.len().to_string();
        return Err(Problem::field(
            "points",
            found,
            format!("{MOST_POINTS} at most"),
        ));
    }
    worked(state, move |made| {
        let (a, b) = (solid(&made, &asked.a)?, solid(&made, &asked.b)?);
        let mut pair = Pair::new(a, b, &made.library).map_err(|error| refused(&error))?;
        let mut fitted = None;
        if !asked.points.is_empty() {
            let points: Vec<PairPoint> = asked
                .points
                .iter()
                .map(|point| PairPoint {
                    mole_fraction_b: point.mole_fraction_b,
                    liquidus_c: point.liquidus_c,
                    solidus_c: point.solidus_c,
                })
                .collect();
            let (fitting, told) = pair.fitted(&points).map_err(|error| refused(&error))?;
            pair = fitting;
            fitted = Some(told);
        }
        let fraction = match asked.mass_fraction_b {
            None => None,
            Some(mass_fraction) => Some(
                pair.mole_fraction_b(mass_fraction)
                    .map_err(|error| refused(&error))?
                    .ok_or_else(|| {
                        Problem::field(
                            "molar_mass_g_per_mol",
                            "nothing",
                            "the molar mass of both substances",
                        )
                    })?,
            ),
        };
        let visible = asked.visible_fraction.unwrap_or(VISIBLE_FRACTION);
        ToldMixture::new(&pair, fitted, fraction, visible, POINTS).map_err(|error| refused(&error))
    })
    .await
}

/// Judge a mixed melting
#[utoipa::path(post, path = "/api/mixed-meltings", tag = "identity", request_body = MixedMeltingRequest, responses((status = 200, body = MixedMelting), Problems))]
async fn mixed_melting(
    Body(asked): Body<MixedMeltingRequest>,
) -> Result<Json<MixedMelting>, Problem> {
    let tubes = ThreeTubes {
        sample_c: asked.sample_c,
        reference_c: asked.reference_c,
        mixture_c: asked.mixture_c,
        standard_uncertainty_c: asked.standard_uncertainty_c,
    };
    tubes.judge().map(Json).map_err(|error| refused(&error))
}

/// Work out how pure a solid is from its melting range
#[utoipa::path(post, path = "/api/purities", tag = "identity", request_body = PurityRequest, responses((status = 200, body = PurityTold), Problems))]
async fn purity(
    State(state): State<AppState>,
    Body(asked): Body<PurityRequest>,
) -> Result<Json<PurityTold>, Problem> {
    worked(state, move |made| {
        let last_c = asked.last_crystal_c;
        let named = SolidRequest {
            melting_c: asked.substance.melting_c.or(asked.pure_c).or(Some(last_c)),
            ..asked.substance
        };
        let main = solid(&made, &named)?;
        let enthalpy = &main.hfus_j_per_mol;
        let substance = MainSubstance::with(enthalpy, main.molar_mass_g_per_mol);
        let u_c = asked.standard_uncertainty_c;
        let range_c = [asked.first_liquid_c, last_c];
        let by_clear_point = asked
            .pure_c
            .map(|pure_c| from_clear_point(&substance, last_c, pure_c, u_c));
        let by_width = from_width(&substance, range_c, u_c, PURE_WIDTH_C, SeenAt::default());
        let mut why = Vec::new();
        if let Some(Err(error)) = &by_clear_point {
            why.push(format!("by the last crystal: {error}"));
        }
        if let Err(error) = &by_width {
            why.push(format!("by the width: {error}"));
        }
        Ok(PurityTold {
            said: format!(
                "{}: enthalpy of fusion {:.2} kJ/mol, {}",
                main.name,
                enthalpy.value / 1000.0,
                enthalpy.source
            ),
            by_clear_point: by_clear_point.and_then(Result::ok),
            by_width: by_width.ok(),
            refused: why,
        })
    })
    .await
}
