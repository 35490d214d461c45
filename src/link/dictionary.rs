//! What plans of classes often say.

/// The preset dictionary of version 1. It is part of the form: changing a byte of it breaks every
/// link that is out there, so that another dictionary is another version. The commonest stands
/// last, where it is cheapest to refer to. U+0001 parts texts, as in what is packed.
pub(super) const DICTIONARY: &str = concat!(
    "Warm-up\u{1}Cool-down\u{1}Finisher\u{1}Main set\u{1}Ladder\u{1}Superset\u{1}Circuit\u{1}Straight sets\u{1}",
    "Set up the kit for what comes next.\u{1}Take a drink of water. \u{1}Water, wipe your hands, breathe.\u{1}",
    "pair of light dumbbells\u{1}pair of moderate dumbbells\u{1}kettlebell\u{1}exercise mat\u{1}resistance band\u{1}",
    "sturdy chair without wheels\u{1}two full water bottles\u{1}folded towel\u{1}folded blanket\u{1}carpet\u{1}backpack with books\u{1}",
    "Community class, invented for demonstration.\u{1}Harbour Hall \u{1}",
    "Ask your doctor first if you are pregnant or have a heart condition.\u{1}Keep the chair against a wall. \u{1}",
    "Hold the back of a chair or a wall for balance.\u{1}Do not hold your breath.\u{1}Skip this if your wrists hurt.\u{1}",
    "Stop if you feel dizzy.\u{1}Stop at any pain in the neck or the shoulder.\u{1}Come up slowly. ",
    "No jumping, land softly, knees soft. Step instead of jumping\u{1}Low-impact way: step out wide\u{1}Hands on a wall or a table\u{1}",
    "Hands on a chair\u{1}Sit on a chair, touch the seat\u{1}Keep one foot on the floor\u{1}Smaller range\u{1}Slower\u{1}Faster\u{1}Half range\u{1}",
    "Without weights\u{1}No weight\u{1}Lighter weight\u{1}Heavier weight\u{1}Knees down\u{1}Knees on the floor\u{1}One leg at a time\u{1}Add a jump\u{1}Add a pulse\u{1}",
    "Hold for two seconds at the bottom\u{1}Pause at the top\u{1}Lower slowly, three counts down\u{1}Short step\u{1}Straight legs\u{1}Arms overhead\u{1}",
    "Jumping jack\u{1}High knees\u{1}Mountain climber\u{1}Side step\u{1}Step touch\u{1}March on the spot\u{1}Burpee\u{1}Skater hop\u{1}Squat jump\u{1}",
    "Push-up\u{1}Plank\u{1}Side plank\u{1}Dead bug\u{1}Bird dog\u{1}Bear crawl\u{1}Crunch\u{1}Sit-up\u{1}Leg raise\u{1}Russian twist\u{1}Superman\u{1}",
    "Glute bridge\u{1}One-leg bridge\u{1}Deadlift\u{1}Romanian deadlift\u{1}Hip hinge\u{1}Good morning\u{1}Swing\u{1}Clean\u{1}Thruster\u{1}",
    "Goblet squat\u{1}Half squat\u{1}Split squat\u{1}Wide squat\u{1}Wall sit\u{1}Calf raise\u{1}Heel raise\u{1}Step-up\u{1}Back lunge\u{1}Forward lunge\u{1}Side lunge\u{1}Walking lunge\u{1}",
    "Bent-over row\u{1}One-arm row\u{1}Overhead press\u{1}One-arm press\u{1}Floor press\u{1}Lateral raise\u{1}Front raise\u{1}Biceps curl\u{1}Triceps extension\u{1}Shrug\u{1}",
    "Farmer's hold\u{1}Suitcase hold\u{1}Straight punch\u{1}Hook\u{1}Uppercut\u{1}Front kick\u{1}Knee lift\u{1}",
    "Cat and cow\u{1}Thread the needle\u{1}Child's pose\u{1}Walk-out\u{1}Hip circle\u{1}Ankle circle\u{1}Shoulder roll\u{1}Arm circle\u{1}Chest opener\u{1}Trunk rotation\u{1}",
    "Quad stretch\u{1}Hamstring stretch\u{1}Calf stretch\u{1}Chest stretch\u{1}Shoulder stretch\u{1}Hip flexor stretch\u{1}Figure four stretch\u{1}Side bend\u{1}Butterfly stretch\u{1}Slow breathing\u{1}",
    "Lie on your back, knees bent, feet flat on the floor, lift the hips.\u{1}Lie on your front, \u{1}Kneel on all fours, hands under the shoulders. \u{1}",
    "Lie on your {side} side, elbow under the shoulder, lift the hips.\u{1}Sit tall at the front of the chair. \u{1}",
    "Bring the {side} knee up to the chest. \u{1}Reach the {side} arm across, over the head, to the ceiling.\u{1}",
    "Turn the chest to the {side}, look over the {side} shoulder.\u{1}Weight on the {side} foot, {other} knee bent.\u{1}",
    "{side} foot ahead, both feet pointing forward. \u{1}{other} hand on the thigh, the hip, the wall. \u{1}{side} leg straight, heel down.\u{1}",
    "Pull the elbow back to the hip. \u{1}Press the weights up from the shoulders to overhead, lower with control.\u{1}",
    "Hold one weight upright at the chest with both hands, sit down between the heels, stand up.\u{1}",
    "Fold at the hips, slide the weights down the thighs, push the hips back, back flat, long back, stand up.\u{1}",
    "Step the {other} foot back, bend both knees, push through the {side} heel to stand up.\u{1}",
    "Stand with feet hip-width apart, shoulder-width apart. \u{1}Bend the knees, arms swinging, walk, run on the spot, and back.\u{1}",
    "Soft knees\u{1}Knees over the toes\u{1}Elbows close\u{1}Elbows inside the knees\u{1}Drive through the whole foot\u{1}Shoulders level\u{1}Shoulders down, away from the ears\u{1}",
    "Long neck\u{1}Long back\u{1}Flat back\u{1}Stand tall\u{1}Ribs down\u{1}Belly tight\u{1}Squeeze at the top\u{1}Hips level\u{1}Hips forward\u{1}Heels down\u{1}Breathe out as you push\u{1}Breathe slowly\u{1}",
    "Stop if a shoulder hurts.\u{1}Stop if a wrist hurts.\u{1}Stop if your back hurts.\u{1}Stop if a knee hurts.\u{1}\u{1}\u{1}",
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_1_never_changes() {
        // CRC-32 (ISO-HDLC). If this fails, add a dictionary and a version; do not change the number.
        let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(DICTIONARY.as_bytes());
        assert_eq!(crc, 1_189_455_465);
    }
}
