//! Any text is a scene or an error; a scene prints back equal.
#![no_main]

use libfuzzer_sys::fuzz_target;
use meltrange_scene::Scene;

fuzz_target!(|text: &str| {
    match Scene::from_toml(text) {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(scene) => {
            let printed = scene.to_toml().expect("a valid scene can be printed");
            let again = Scene::from_toml(&printed).expect("what was printed can be read");
            assert!(again == scene, "{printed}");
        }
    }
});
