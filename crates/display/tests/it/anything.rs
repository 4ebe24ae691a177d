//! Any picture, region and description: an answer or a reason, never a panic.

use meltrange_display::{
    Acceptance, DigitStyle, DisplayReader, DisplayRegion, DisplaySpec, Lit, Picture, read_frame,
};
use proptest::prelude::*;

fn picture() -> impl Strategy<Value = (Vec<u8>, usize, usize)> {
    (1_usize..90, 1_usize..60).prop_flat_map(|(width, height)| {
        (
            prop_oneof![
                proptest::collection::vec(any::<u8>(), width * height),
                proptest::collection::vec(
                    prop_oneof![Just(0_u8), Just(10), Just(250), Just(255)],
                    width * height
                ),
                any::<u8>().prop_map(move |level| vec![level; width * height]),
            ],
            Just(width),
            Just(height),
        )
    })
}

fn region() -> impl Strategy<Value = DisplayRegion> {
    let near = -5.0..95.0_f64;
    prop_oneof![
        Just(DisplayRegion::WholePicture),
        proptest::array::uniform4((near.clone(), near).prop_map(|(x, y)| [x, y]))
            .prop_map(DisplayRegion::Corners),
        (0.0..40.0_f64, 0.0..30.0_f64, 8.0..50.0_f64, 8.0..30.0_f64).prop_map(|(x, y, w, h)| {
            DisplayRegion::Corners([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
        }),
        any::<[f64; 2]>().prop_map(|corner| DisplayRegion::Corners([corner; 4])),
    ]
}

fn spec() -> impl Strategy<Value = DisplaySpec> {
    (
        any::<usize>(),
        any::<usize>(),
        prop_oneof![
            Just(DigitStyle::SevenSegment),
            Just(DigitStyle::DotMatrix),
            Just(DigitStyle::Either)
        ],
        prop_oneof![
            Just(Lit::BrightOnDark),
            Just(Lit::DarkOnBright),
            Just(Lit::Either)
        ],
    )
        .prop_map(|(digits_before, decimals, style, lit)| DisplaySpec {
            digits_before,
            decimals,
            style,
            lit,
            ..DisplaySpec::default()
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_picture_has_an_answer((luma, width, height) in picture(), region in region(), spec in spec()) {
        let picture = Picture::new(&luma, width, height).expect("as many pixels as stated");
        if let Ok(reading) = read_frame(&picture, &region, &spec) {
            prop_assert!((spec.lowest_c..=spec.highest_c).contains(&reading.indicated_c));
        }
    }

    #[test]
    fn any_series_has_answers(
        times in proptest::collection::vec(any::<f64>(), 1..6),
        (luma, width, height) in picture(),
        spec in spec(),
    ) {
        let picture = Picture::new(&luma, width, height).expect("as many pixels as stated");
        let mut reader = DisplayReader::new(DisplayRegion::WholePicture, spec, Acceptance::default());
        for time_s in times {
            // One picture over and over: whatever it is, the first time it is not yet a value.
            let _ = reader.push(time_s, &picture);
        }
        let mut fresh = DisplayReader::new(DisplayRegion::WholePicture, spec, Acceptance::default());
        prop_assert!(fresh.push(0.0, &picture).is_err());
    }

    #[test]
    fn pixels_that_make_no_picture_are_refused(count in 0_usize..50, width in 0_usize..9, height in 0_usize..9) {
        let luma = vec![0; count];
        let made = Picture::new(&luma, width, height);
        prop_assert_eq!(made.is_ok(), width * height == count && count > 0);
    }
}
