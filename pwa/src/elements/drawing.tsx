/** A piece's drawing, from the paths the device holds. */
import { drawings } from "../state/state.ts";

const attribute = (text: string, name: string): string | undefined =>
  text.match(new RegExp(`${name}="([^"]+)"`))?.[1];

export function PieceDrawing({ number }: { number: string }) {
  const drawn = drawings.value[number];
  if (!drawn) return <span class="drawn" aria-hidden="true" />;
  const [box, paths] = drawn;
  return (
    <svg class="drawn" viewBox={box} aria-hidden="true" focusable="false">
      {paths.map(([path, turn]) => (
        <path
          key={path}
          d={path}
          transform={attribute(turn, "transform")}
          fill-rule={attribute(turn, "fill-rule") === "evenodd" ? "evenodd" : undefined}
        />
      ))}
    </svg>
  );
}
